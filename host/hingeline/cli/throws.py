"""`hingeline throws`: every throw beside the rigging sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from textwrap import indent
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.aircraft import (
    CAUTION,
    await_wiggle,
    brief_text,
    fixed_option,
    judgement_text,
    moved_text,
    replay_option,
    side_options,
    take_sides,
)
from hingeline.cli.completing import sheet_argument, surface_argument
from hingeline.cli.live import LiveOptions, live_options
from hingeline.cli.screen import Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.checks.positions import Position
    from hingeline.checks.results import HingeResult, ThrowResult
    from hingeline.checks.summary import Summary
    from hingeline.checks.throws import ThrowsCheck
    from hingeline.checks.values import Judgement
    from hingeline.cli.visit import Visit
    from hingeline.measure.capture import Capture
    from hingeline.measure.pipeline import Instrument
    from hingeline.rig.sheet import Sheet


@click.command()
@sheet_argument
@surface_argument(required=False)
@port_option
@side_options
@fixed_option
@click.option(
    "--cycles",
    type=click.IntRange(1, 20),
    default=1,
    show_default=True,
    metavar="N",
    help="How often the positions of each mode are gone through: with more, how well they repeat is told.",
)
@replay_option
@live_options
@command
def throws(
    *,
    screen: Screen,
    live: LiveOptions,
    rig: Path,
    surface: str | None,
    ports: tuple[str, ...],
    replay: Path | None,
    **choices: Any,
) -> int:
    """Check every throw of SURFACE, or of all surfaces, against the rigging sheet.

    \b
    Examples:
      hingeline throws lantern.rig.toml
      hingeline throws lantern.rig.toml elevator --json
      hingeline throws lantern.rig.toml --hold 1.5 --page-on 192.168.1.20

    Hold the stick still at each position it asks for; stillness takes the reading. After all positions of a mode
    it goes back to neutral, where the surface must return to. End points are told as if they stood at 100 % now.
    Exit status 0 when everything is within the tolerance you set, 6 when something is not.
    """
    from hingeline.checks.results import write_result
    from hingeline.cli.opening import visit
    from hingeline.errors import OutOfTolerance
    from hingeline.rig import load_sheet

    sheet = load_sheet(rig)
    names = [surface] if surface else [name for name in sheet.surfaces if sheet.targets(name)]
    for name in names:
        sheet.surface(name)
    found: dict[str, Throws] = {}
    with visit(
        screen, ports, sheet.aircraft, "throws", replay, sheet=sheet, live=live, surface=surface, **choices
    ) as here:
        screen.say(CAUTION)
        for name in names:
            if len(names) > 1:
                here.pause(f"Tape the sensors on the {name}, then press")
            found[name] = _surface(here, sheet, name, moved=name != names[0])
    inside = all(reading.inside for one in found.values() for reading in one.readings)
    screen.data(
        "\n".join(text for one in found.values() if (text := one.text())),
        surfaces=write_result({name: one.readings for name, one in found.items()}),
        summaries=write_result({name: one.summary for name, one in found.items()}),
        hinges=write_result({name: one.hinges for name, one in found.items()}),
        inside=inside,
    )
    return 0 if inside else OutOfTolerance.exit_status


@dataclass(frozen=True)
class Throws:
    """What was found on one surface."""

    readings: list[ThrowResult]
    summary: Summary
    hinges: tuple[HingeResult, ...]

    def text(self) -> str:
        """Return for a reader what the readings, which were shown one by one, say together."""
        from hingeline.checks.hinge import hinge_text

        parts = [text for text in (self.summary.text(),) if text]
        parts += [
            f"{hinge_text(each)}: find it with `hingeline hinge`" for each in self.hinges if each.beyond
        ]
        return "\n".join(parts)


def _surface(here: Visit, sheet: Sheet, surface: str, *, moved: bool) -> Throws:
    from hingeline.checks.summary import given_differentials, summarise
    from hingeline.checks.trim import chain_of
    from hingeline.measure.capture import TakenBack
    from hingeline.measure.pipeline import sensors_of

    sides = take_sides(here, sheet, surface, see=True)
    if moved and not here.asks:
        await_wiggle(here, surface, sides)
    capture = here.capture(sensors_of(sides))
    check = _from_neutral(here, sheet, surface, sides, capture)
    while True:
        try:
            readings = _measured(here, surface, check, capture)
            break
        except TakenBack:
            former, check = check, _from_neutral(here, sheet, surface, sides, capture)
            here.screen.say(f"It is {check.off_deg(former):.1f}° from the one taken back.")
    here.takes_back.clear()
    given = sheet.surface(surface)
    summary = summarise(readings, check.positions, chain_of(given.linkage), given_differentials(given))
    return Throws(readings, summary, check.hinges())


def _from_neutral(
    here: Visit, sheet: Sheet, surface: str, sides: tuple[Instrument, ...], capture: Capture
) -> ThrowsCheck:
    """Return the check that counts from the next rest, which is taken for the neutral."""
    from hingeline.checks.throws import ThrowsCheck

    here.stage.judging(None)
    here.ask(f"{surface}: sticks centred, hands off.")
    check = ThrowsCheck(sheet, surface, sides, capture.rest())
    here.stage.took()
    here.takes_back.append("neutral")
    here.screen.say("Neutral taken.")
    return check


def _measured(here: Visit, surface: str, check: ThrowsCheck, capture: Capture) -> list[ThrowResult]:
    """Return the readings of a surface. Raises `TakenBack` if its neutral was no good."""
    from hingeline.checks.throws import STANDING_S

    screen = here.screen

    def ask(position: Position) -> None:
        way = "sticks centred, hands off" if not position.targets else "all the way, and hold"
        if check.looks_as_before(position):
            way = f"and hold: it stays where it is, and is taken after {STANDING_S:.0f} s"
        here.stage.judging(lambda rests: check.moments(position, rests))
        here.ask(f"{surface}: {position.name}, {way}.")

    readings: dict[tuple[str, str, int], ThrowResult] = {}
    for reading in check.run(
        capture,
        ask,
        lambda position, went_on: screen.say(_not_there(here, position, went_on)),
        here.choices["cycles"],
    ):
        here.record_result(reading)
        here.stage.took()
        name = _name(reading, here.choices["cycles"])
        here.takes_back.append(name)
        title = f"{surface}, {name}"
        screen.part(_text(title, reading, judgement_text), _text(title, reading, brief_text))
        readings[reading.mode, reading.command, reading.cycle] = reading
    return list(readings.values())


def _not_there(here: Visit, position: Position, went_on: bool) -> str:
    """Return what is said of a rest that is not the position asked for."""
    if went_on:
        return "It went on from where it was read, which was on its way: b takes that reading back."
    way = "move it all the way" if position.targets else "centre the sticks"
    return f"Not there yet: {way}{here.or_key}."


def _name(reading: ThrowResult, cycles: int) -> str:
    return f"{reading.command} ({reading.mode})" + (f", cycle {reading.cycle}" if cycles > 1 else "")


def _text(title: str, reading: ThrowResult, said: Callable[[Judgement], str]) -> str:
    rows = [title]
    rows += [indent(said(one), "  ") for one in reading.judgements]
    return "\n".join(rows + ([f"  {moved_text(reading.moved_deg)}"] if reading.moved_deg is not None else []))
