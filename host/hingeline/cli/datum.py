"""`hingeline datum` and `hingeline closure`: all sensors on one flat, before measuring and after."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hingeline.cli.screen import Screen, command, port_option
from hingeline.units import counted, signed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from hingeline.measure.capture import Readings
    from hingeline.procedures.runner import Runner
    from hingeline_calibration.calibration import Calibration
    from hingeline_calibration.datum import Datum

ELSEWHERE_DEG = 1.0
"""Where all sensors have gone so far, they lie elsewhere rather than drifted; common practice, no source."""


@click.command()
@port_option
@click.option(
    "--reversal", is_flag=True, help="Lay them again turned end for end: the flat need not be level."
)
@command
def datum(*, screen: Screen, ports: tuple[str, ...], reversal: bool) -> int:
    """Lay all sensors on one flat: the reference that neutrals are compared from.

    \b
    Examples:
      hingeline datum
      hingeline datum --reversal

    Bases down, long edges parallel, all arrows the same way. Do it in every session, when the sensors are warm.
    For matching left with right once is enough; for angles against level turn them too, or use a level flat.
    """
    from hingeline.cli.run import open_table
    from hingeline.measure.pipeline import take_datum
    from hingeline.storage.calibrations import save_datum

    with open_table(screen, ports, "datum") as runner:
        calibrations = _calibrations(runner)
        taken = take_datum(calibrations, *_lay(runner, calibrations, reversal), date=runner.started)
        kept = runner.save(lambda: save_datum(runner.store, taken))
        runner.record("datum", taken=taken.to_dict())
    until = "kept, until one is warmed, knocked or calibrated again" if kept else "taken, and not kept"
    tilt = "" if taken.table_tilt_deg is None else f" The flat is {taken.table_tilt_deg:.2f}° off level."
    screen.data(
        f"Datum of {counted(len(taken.gravity), 'sensor')} {until}.{tilt}\n"
        f"{_known_text(taken, calibrations)}\n"
        "After measuring, `hingeline closure` tells whether it still holds.",
        datum=taken.to_dict(),
    )
    return 0


@click.command()
@port_option
@command
def closure(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """Lay all sensors on the flat once more: does the datum still hold?

    \b
    Example:
      hingeline closure

    After measuring, on the same spots, the same way round; after a reversal, turned again too. How far each angle
    has gone is told, and kept with the datum: it enters the uncertainty of every angle from it. Exit status 0 if the
    datum holds, 6 if it does not.
    """
    from hingeline.checks.results import DriftCheck, write_result
    from hingeline.cli.run import open_table
    from hingeline.errors import NotMeasurable, OutOfTolerance
    from hingeline.measure.pipeline import close_datum
    from hingeline.storage.calibrations import save_datum

    with open_table(screen, ports, "closure") as runner:
        found = _calibrations(runner)
        datum = runner.datum()
        calibrations = {name: one for name, one in found.items() if name in datum.gravity}
        if not calibrations:
            raise NotMeasurable(
                f"The datum holds {', '.join(datum.gravity)}, none of which is plugged in",
                "Plug in the sensors it was taken with, or take it anew: `hingeline datum`",
            )
        laid = _lay(runner, calibrations, datum.table_tilt_deg is not None)
        closed = close_datum(datum, calibrations, *laid)
        runner.save(lambda: save_datum(runner.store, closed))
        result = DriftCheck(dict(closed.drift_deg), closed.date, bool(closed.holds))
        runner.record_result(result)
    rows = [
        f"{name}  gone by {signed(gone_deg, 3)}° ±{_reach_deg(datum, found[name], layings=2):.3f} since the datum"
        f"{_gone_text(gone_deg, closed.closure_limit_deg)}"
        for name, gone_deg in closed.drift_deg.items()
    ]
    screen.data(
        "\n".join([*rows, *([] if closed.holds else [_cure(closed)])]),
        **write_result(result),
        datum=closed.to_dict(),
        inside=closed.holds,
    )
    return 0 if closed.holds else OutOfTolerance.exit_status


def _calibrations(runner: Runner) -> dict[str, Calibration]:
    """Load the calibration of every working sensor, with its cautions."""
    from hingeline.storage.calibrations import load_calibration
    from hingeline.storage.sides import working_sensors

    sensors = runner.sensors
    calibrations = {name: load_calibration(runner.store, sensors[name]) for name in working_sensors(sensors)}
    runner.heed(calibrations.values())
    return calibrations


def _lay(
    runner: Runner, calibrations: Mapping[str, Calibration], reversal: bool
) -> tuple[Readings, Readings | None]:
    """The readings on the flat and, for a reversal, those turned."""
    from hingeline.procedures.datum import LayDown

    down = runner.run(LayDown(tuple(calibrations), reversal))
    return down.laid or {}, down.turned


def _known_text(datum: Datum, calibrations: Mapping[str, Calibration]) -> str:
    """Write how well each sensor was laid down."""
    rows = []
    for name, calibration in calibrations.items():
        alone = f"±{_reach_deg(datum, calibration):.2f}° against the others"
        rows.append(f"  {name}  {alone}, ±{_reach_deg(datum, calibration, level=True):.2f}° against level")
    return "\n".join(rows)


def _reach_deg(datum: Datum, calibration: Calibration, *, layings: int = 1, level: bool = False) -> float:
    """Half the 95 % interval of the angle of a sensor that lies on the datum's flat.

    Parameters
    ----------
    layings
        How often it was laid there: once, or to compare two of them.
    level
        Whether the angle is one against level.
    """
    from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
    from hingeline_calibration.datum import CLOSURE, LEVEL

    name = calibration.sensor_id
    sources = dict(datum.angle(name, datum.gravity[name], calibration).budget.items())
    sources["datum"] *= layings**0.5
    sources.pop(CLOSURE, None)  # a new closure takes the place of the last one
    if not level:
        sources.pop(LEVEL, None)
    return COVERAGE_FACTOR * Budget.of(sources.items()).standard_uncertainty


def _gone_text(gone_deg: float, limit_deg: float) -> str:
    return ": it holds" if abs(gone_deg) <= limit_deg else ": neutrals read since are off by up to this"


def _cure(closed: Datum) -> str:
    again = "warm up, take the datum again, then read the neutrals again"
    if min(map(abs, closed.drift_deg.values())) > ELSEWHERE_DEG:
        return (
            f"The datum does not hold, all are gone by more than {ELSEWHERE_DEG:g}°. Do the carriers lie on the flat, "
            f"as they did for it? If not, lay them there and give `hingeline closure` again; if so, {again}"
        )
    return f"The datum does not hold: {again}"
