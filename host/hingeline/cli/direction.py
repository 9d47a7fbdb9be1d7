"""`hingeline direction`: which way every surface goes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.aircraft import CAUTION, await_wiggle, replay_option, side_options, take_sides
from hingeline.cli.completing import sheet_argument, surface_argument
from hingeline.cli.findings import one_by_one
from hingeline.cli.live import LiveOptions, live_options
from hingeline.cli.screen import Screen, command, port_option
from hingeline.units import signed

if TYPE_CHECKING:
    from hingeline.checks.results import DirectionResult
    from hingeline.cli.visit import Visit
    from hingeline.measure.capture import Readings
    from hingeline.rig.sheet import Sheet

PILOT = (
    "This replaces no pilot's check: before each flight stand behind the model, move each stick and say aloud which "
    "way the surfaces go."
)


@click.command()
@sheet_argument
@surface_argument(required=False)
@port_option
@side_options
@replay_option
@live_options
@command
def direction(
    *,
    screen: Screen,
    live: LiveOptions,
    rig: Path,
    surface: str | None,
    ports: tuple[str, ...],
    replay: Path | None,
    **named: Any,
) -> int:
    """Check which way SURFACE, or every surface, goes with its stick.

    \b
    Example:
      hingeline direction lantern.rig.toml aileron

    Say each direction aloud. Stand behind the model. It replaces no pilot's check. Exit status 0 when everything
    goes the right way, 6 when something does not.
    """
    from hingeline.cli.opening import visit
    from hingeline.rig import load_sheet

    sheet = load_sheet(rig)
    if surface:
        sheet.surface(surface)
    names = [surface] if surface else list(sheet.surfaces)
    found: dict[str, list[DirectionResult]] = {}
    with visit(
        screen, ports, sheet.aircraft, "direction", replay, sheet=sheet, live=live, surface=surface, **named
    ) as here:
        screen.say(CAUTION)
        for name in names:
            if len(names) > 1:
                here.pause(f"Tape the sensors on the {name}, then press")
            found[name] = _surface(here, sheet, name, moved=name != names[0])
    return _conclude(screen, found)


def _surface(here: Visit, sheet: Sheet, surface: str, *, moved: bool) -> list[DirectionResult]:
    from hingeline.checks.direction import DirectionCheck
    from hingeline.checks.moment import passing

    sides = take_sides(here, sheet, surface)
    if moved and not here.asks:
        await_wiggle(here, surface, sides)
    capture = here.capture([one.sensor_id for one in sides])
    here.ask(f"{surface}: sticks centred, hands off.")
    neutral = capture.rest()
    here.stage.took()
    here.stage.judging(passing(sheet, surface, sides, neutral))
    check = DirectionCheck(sheet.surface(surface), sides, neutral)

    def ask(number: int) -> Readings:
        if number:
            here.ask(f"{surface}: back to neutral.")
            while check.away(capture.rest()):
                pass
        wanted = check.commands[number]
        here.ask(f'{surface}: {wanted.stick}, all the way, hold, and say aloud "{wanted.call}".')
        while not check.away(rests := capture.rest()) and not capture.confirmed:
            here.screen.say("Still near neutral: all the way, and hold.")
        here.screen.part("\n".join(_rows(surface, check.read(wanted, rests))))
        return rests

    taken = one_by_one(here, ask, len(check.commands))
    readings = [replace(check.read(*one), surface=surface) for one in zip(check.commands, taken, strict=True)]
    for reading in readings:
        here.record_result(reading)
    return readings


def _conclude(screen: Screen, found: dict[str, list[DirectionResult]]) -> int:
    from hingeline.checks.results import write_result
    from hingeline.errors import OutOfTolerance

    inside = all(reading.inside for readings in found.values() for reading in readings)
    screen.data(
        PILOT,
        surfaces=write_result(found),
        note=PILOT,
        inside=inside,
    )
    return 0 if inside else OutOfTolerance.exit_status


def _rows(surface: str, reading: DirectionResult) -> list[str]:
    rows = [
        f"{surface}, {reading.command}: {side} went {way.went} ({signed(way.deg, 1)}°), "
        f"expected {way.expected}: {'correct' if way.right_way else 'WRONG WAY'}"
        for side, way in reading.sides.items()
    ]
    return [*rows, *(f"    candidate: {cause}" for cause in reading.candidates)]
