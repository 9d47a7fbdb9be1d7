"""What the commands that measure on an aircraft share: the sheet, a sensor for each side, words for judgements."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.completing import sensors
from hingeline.units import UNITS, signed

if TYPE_CHECKING:
    from hingeline.checks.values import Judgement
    from hingeline.cli.visit import Visit
    from hingeline.measure.pipeline import FixedPart, Instrument
    from hingeline.rig.sheet import Sheet
    from hingeline.units import Side
    from hingeline_calibration.hinge import HingeAxis

CAUTION = (
    "Propeller off or motor disconnected, gyro off, transmitter on first. Fingers clear of linkages. Tape each "
    "sensor with its edge along the hinge line, arrow to the trailing edge."
)


def side_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `--left` and `--right`, its sensors."""
    for side in ("right", "left"):
        function = click.option(
            f"--{side}",
            metavar="SENSOR",
            shell_complete=sensors,
            help=f"Sensor on the {side}, as seen from behind. Default: as `hingeline wiggle` found.",
        )(function)
    return function


def replay_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `--replay`."""
    return click.option(
        "--replay",
        metavar="RUN",
        type=click.Path(path_type=Path),
        help="Measure again on a recorded run, its file or its session's folder; its calibrations and options hold.",
    )(function)


def fixed_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `--fixed`."""
    return click.option(
        "--fixed",
        metavar="SENSOR",
        shell_complete=sensors,
        help="A further sensor, taped on a fixed part with its edge square to the centre line and its arrow aft: it "
        "takes the model's own motion out.",
    )(function)


def take_sides(here: Visit, sheet: Sheet, surface: str, *, see: bool = False) -> tuple[Instrument, ...]:
    """Return an instrument for each side of a surface, as the visit's choices have it, and say which is which.

    Hinges that `hingeline hinge` found in this session are used. With `see`, a wiggle of the left surface tells left
    from right, unless it has in this session.
    """
    from dataclasses import replace

    from hingeline.checks.results import Seat, SidesResult
    from hingeline.rig.kinds import BOTH
    from hingeline.storage.calibrations import load_instruments
    from hingeline.storage.hinges import place_of
    from hingeline.storage.sides import assign_sides, load_sides

    fixed = _fixed(here)
    others = {name: info for name, info in here.sensors.items() if fixed is None or name != fixed.sensor_id}
    named = {side: here.choices.get(side) for side in BOTH}
    sides = assign_sides(others, sheet.surface(surface).sides, named, load_sides(here.store))
    known = {one.sensor_id: one for one in load_instruments(here.store, sides, here.sensors)}
    here.heed(one.calibration for one in known.values())
    if fixed is not None:
        here.heed([fixed.calibration])
    if see and len(sides) == len(BOTH):
        sides = _seen(here, surface, sides)
    here.screen.say(", ".join(f"{side}: sensor {name}" for side, name in sides.items()))
    sweep_deg = sheet.surface(surface).sweep_deg
    headings_deg = {"left": sweep_deg, "right": -sweep_deg}
    taken = tuple(
        replace(
            known[name],
            side=side,
            hinge=_hinge(here, place_of(sheet.aircraft, surface, side), known[name]),
            fixed=fixed,
            heading_deg=headings_deg.get(side, 0.0),
        )
        for side, name in sides.items()
    )
    seats = {one.side: Seat(one.sensor_id, one.hinge.direction) for one in taken}
    here.record_result(SidesResult(surface, seats, "" if fixed is None else fixed.sensor_id))
    here.seats = {one.sensor_id: one.side for one in taken}
    if fixed is not None:
        here.seats = {**here.seats, fixed.sensor_id: "fixed"}
    return taken


def _fixed(here: Visit) -> FixedPart | None:
    """Return the sensor on a fixed part that the command was given."""
    from hingeline.measure.pipeline import FixedPart
    from hingeline.storage.calibrations import load_calibration
    from hingeline.storage.sides import find_sensor, working_sensors

    given = here.choices.get("fixed")
    if not given:
        return None
    name = find_sensor(given, working_sensors(here.sensors))
    return FixedPart(name, load_calibration(here.store, here.sensors[name]))


def _hinge(here: Visit, place: str, one: Instrument) -> HingeAxis:
    """Return the hinge that was found there in this session, and say so; else the carrier's edge."""
    from hingeline.storage.hinges import load_hinge

    found = load_hinge(here.store, place, one.sensor_id, here.started)
    if found is None:
        return one.hinge
    here.screen.say(
        f"Sensor {one.sensor_id}: measured about the hinge found in this session, {abs(found.yaw_deg):.1f}° off its "
        "edge; after taping anew, find it again: `hingeline hinge`"
    )
    return found


def _seen(here: Visit, surface: str, sides: dict[Side, str]) -> dict[Side, str]:
    """Return the sides as a wiggle shows them, and remember them."""
    from hingeline.procedures.wiggle import Wiggles
    from hingeline.storage.sides import save_sides, sides_known

    if sides_known(here.store, sides, here.started):
        return sides
    here.ask("Hands off for a moment.")
    wiggles = Wiggles(partial(here.capture, tuple(sides.values())))
    left = None
    while left is None:
        here.ask(
            f"{surface}: wiggle the LEFT surface, as seen from behind, with a finger for a second; then hands off."
        )
        left = wiggles.next()
        if left is None:
            here.screen.say("Both sensors moved alike: hold the model, and touch the left surface alone.")
    if left != sides["left"]:
        here.screen.say(f"Left and right were swapped: sensor {left} moved, so it is the left one.")
        sides = {"left": sides["right"], "right": sides["left"]}
    here.keep(lambda: save_sides(here.store, sides, here.started))
    return sides


def await_wiggle(here: Visit, surface: str, sides: tuple[Instrument, ...]) -> None:
    """Wait until the sensors are on a surface: no key tells it, a wiggle does that ends where it began."""
    from hingeline.measure.pipeline import sensors_of
    from hingeline.procedures.wiggle import RETURNED_DEG, Wiggles

    wiggled = sides[0]
    side = "" if len(sides) == 1 else f" {wiggled.side.upper()}"
    here.ask(
        f"{surface}: tape the sensors on, sticks centred; then wiggle the{side} surface with a finger, and hands off."
    )
    wiggles = Wiggles(partial(here.capture, sensors_of(sides)))
    while wiggles.next() != wiggled.sensor_id or wiggles.strayed_deg > RETURNED_DEG:
        here.screen.say(f"Waiting for a wiggle of the{side} surface alone.")


def moved_text(moved_deg: float | None) -> str:
    """Return what a turn of both sides alike may be; empty where there was none."""
    if moved_deg is None:
        return ""
    return (
        f"Both sides have turned {signed(moved_deg)}° alike: the model was moved, or the stick. Lay the model "
        "firm, or tape a further sensor on a fixed part: --fixed"
    )


def judgement_text(judgement: Judgement) -> str:
    """Return one line for a reader: angle and travel with their 95 % uncertainty, target, verdict, advice."""
    angle, unit = judgement.measured, UNITS[judgement.unit]
    parts = [f"{judgement.name:<12} {signed(angle.deg):>7}° ±{angle.reach_deg:.2f}"]
    if judgement.travel is not None:
        travel = judgement.travel
        parts.append(f"{signed(travel.mm):>7} mm ±{travel.reach_mm:.2f} ({travel.convention})")
    parts.append(f"target {signed(judgement.target)}{unit} ±{judgement.tolerance:.2f}")
    close = ", but the limit is within the uncertainty" if judgement.close else ""
    parts.append(f"{judgement.verdict_text}{close}")
    if judgement.streamwise_deg is not None:
        parts.append(f"{signed(judgement.streamwise_deg)}° streamwise")
    further = [judgement.reason, judgement.limited_by, judgement.advice, judgement.effect]
    return "\n".join(("  ".join(parts), *(f"{'':<13}{text}" for text in further if text)))


def brief_text(judgement: Judgement) -> str:
    """Return verdict and advice alone: what is read from afar, with both hands on the transmitter."""
    close = " (limit within ±)" if judgement.close else ""
    words = f": {judgement.cure}" if judgement.cure else ""
    return f"{judgement.name} {judgement.verdict_text}{close}{words}"
