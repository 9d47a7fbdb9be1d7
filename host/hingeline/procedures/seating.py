"""Which sensor sits on which side of a surface: an instrument for each, before a procedure measures on it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any

from hingeline.checks.results import Seat, SidesResult
from hingeline.device.samples import SensorInfo
from hingeline.measure.pipeline import FixedPart, Instrument
from hingeline.procedures.procedure import Pause
from hingeline.procedures.runner import Runner
from hingeline.procedures.wiggle import await_wiggle, find_left
from hingeline.rig.kinds import BOTH, ONE_PIECE
from hingeline.rig.sheet import Sheet
from hingeline.storage import sides
from hingeline.storage.calibrations import load_calibration, load_instruments
from hingeline.storage.store import Store
from hingeline.units import Side
from hingeline_calibration.hinge import HingeAxis


def seat_sensors(runner: Runner, sheet: Sheet, surface: str, *, by_wiggle: bool = False) -> tuple[Instrument, ...]:
    """Give an instrument for each side of a surface, as the choices of the run have it, and say which is which.

    Hinges that `hingeline hinge` found in this session are used. With `by_wiggle`, a wiggle of the left surface tells
    left from right, unless it has in this session. Raises `HingelineError` (too few sensors work, one is not
    calibrated), and as `Runner.run`.
    """
    chosen, fixed = choose_instruments(runner.store, runner.sensors, sheet.surface(surface).sides, runner.choices)
    instruments = {instrument.sensor_id: instrument for instrument in chosen}
    seats = {instrument.side: instrument.sensor_id for instrument in chosen}
    runner.heed(instrument.calibration for instrument in instruments.values())
    if fixed is not None:
        runner.heed([fixed.calibration])
    if by_wiggle and len(seats) == len(BOTH):
        seats = _seats_by_wiggle(runner, surface, seats)
    runner.say(", ".join(f"{side}: sensor {name}" for side, name in seats.items()))
    sweep_deg = sheet.surface(surface).sweep_deg
    headings_deg = {"left": sweep_deg, "right": -sweep_deg}
    seated = tuple(
        replace(
            instruments[name],
            side=side,
            hinge=_hinge(runner, sides.place_of(sheet.aircraft, surface, side), instruments[name]),
            fixed=fixed,
            heading_deg=headings_deg.get(side, 0.0),
        )
        for side, name in seats.items()
    )
    taken = {instrument.side: Seat(instrument.sensor_id, instrument.hinge.direction) for instrument in seated}
    runner.record_result(SidesResult(surface, taken, "" if fixed is None else fixed.sensor_id))
    runner.seats = {name: side for side, name in seats.items()} | ({fixed.sensor_id: "fixed"} if fixed else {})
    return seated


def seat_on(
    runner: Runner, sheet: Sheet, surface: str, surfaces: Sequence[str], *, by_wiggle: bool = False
) -> tuple[Instrument, ...]:
    """As `seat_sensors`, once the sensors are on this one of several surfaces: a key tells it, else a wiggle."""
    if len(surfaces) > 1:
        runner.run(Pause(f"Tape the sensors on the {surface}, then press"))
    instruments = seat_sensors(runner, sheet, surface, by_wiggle=by_wiggle)
    if surface != surfaces[0] and not runner.asks:
        runner.run(await_wiggle(surface, instruments))
    return instruments


def choose_instruments(
    store: Store, sensors: Mapping[str, SensorInfo], of_sides: Collection[Side], choices: Mapping[str, Any]
) -> tuple[tuple[Instrument, ...], FixedPart | None]:
    """Give each of the sides its instrument, and that on a fixed part, as a command's choices have them.

    Raises `HingelineError` (too few sensors work, a choice names none of them, or one is not calibrated).
    """
    fixed = None
    if given := choices.get("fixed"):
        sensor_id = sides.find_sensor(given, sides.working_sensors(sensors))
        fixed = FixedPart(sensor_id, load_calibration(store, sensors[sensor_id]))
    others = {name: info for name, info in sensors.items() if fixed is None or name != fixed.sensor_id}
    named: dict[Side, str | None] = {side: choices.get(side) for side in (*BOTH, *ONE_PIECE)}
    seats = sides.assign_sides(others, of_sides, named, sides.load_sides(store))
    return load_instruments(store, seats, sensors), fixed


def _hinge(runner: Runner, place: str, instrument: Instrument) -> HingeAxis:
    """The hinge that was found there in this session, which is said; else the carrier's edge."""
    axis = sides.load_hinge(runner.store, place, instrument.sensor_id, runner.started)
    if axis is None:
        return instrument.hinge
    runner.say(
        f"Sensor {instrument.sensor_id}: measured about the hinge found in this session, {abs(axis.yaw_deg):.1f}° off "
        "its edge. After taping it anew, find the hinge again: `hingeline hinge`"
    )
    return axis


def _seats_by_wiggle(runner: Runner, surface: str, seats: dict[Side, str]) -> dict[Side, str]:
    """The sides as a wiggle shows them, which are remembered."""
    if sides.sides_known(runner.store, seats, runner.started):
        return seats
    left = runner.run(find_left(tuple(seats.values()), surface)).sensor_id
    if left != seats["left"]:
        runner.say(f"Left and right were swapped: sensor {left} moved, so it is the left one.")
        seats = {"left": seats["right"], "right": seats["left"]}
    runner.save(lambda: sides.save_sides(runner.store, seats, runner.started))
    return seats
