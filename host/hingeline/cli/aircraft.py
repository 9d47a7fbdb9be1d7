"""What the commands that measure on an aircraft share: the sheet, a sensor for each side, words for judgements."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from hingeline.checks.judgement import Judgement
    from hingeline.cli.visit import Visit
    from hingeline.pipeline import Instrument
    from hingeline.rig.sheet import Sheet

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
            help=f"Sensor on the {side}, as seen from behind. Default: as `hingeline wiggle` found.",
        )(function)
    return function


def replay_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `--replay`."""
    return click.option(
        "--replay",
        metavar="SESSION",
        type=click.Path(path_type=Path),
        help="Measure again on a recorded session's folder; its sensors, calibrations and options hold.",
    )(function)


def take_sides(here: Visit, sheet: Sheet, surface: str) -> tuple[Instrument, ...]:
    """Return an instrument for each side of a surface, as the visit's choices have it, and say which is which."""
    from hingeline.pipeline import instruments
    from hingeline.rig.kinds import BOTH
    from hingeline.sides import assign, remembered

    sensors = here.sensors
    named = {side: here.choices.get(side) for side in BOTH}
    sides = assign(sensors, sheet.surface(surface).sides, named, remembered(here.store))
    here.screen.say(", ".join(f"{side}: sensor {name}" for side, name in sides.items()))
    return instruments(here.store, sides, sensors)


def judgement_text(judgement: Judgement) -> str:
    """Return one line for a reader: angle and travel with their 95 % uncertainty, target, verdict, advice."""
    angle = judgement.measured
    reach_deg = angle.interval_deg[1] - angle.deflection_deg
    parts = [f"{judgement.what:<12} {angle.deflection_deg:+7.2f}° ±{reach_deg:.2f}"]
    if judgement.travel is not None:
        travel = judgement.travel
        reach_mm = travel.interval_mm[1] - travel.travel_mm
        parts.append(f"{travel.travel_mm:+7.2f} mm ±{reach_mm:.2f} ({travel.convention})")
    unit = "°" if judgement.verdict.unit == "deg" else " mm"
    parts.append(f"wanted {judgement.wanted:+.2f}{unit} ±{judgement.tolerance:.2f}")
    close = ", but the limit is within the uncertainty" if judgement.close else ""
    parts.append(f"{judgement.verdict.word} {judgement.verdict.gap:+.2f}{unit}{close}")
    line = "  ".join(parts)
    return f"{line}\n{'':<13}{judgement.advice.text}" if judgement.advice.text else line
