"""`hingeline neutral`: match left with right."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.aircraft import (
    CAUTION,
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

CLEVIS_S = 900.0
"""How long a change may take: a clevis is taken off, turned and put on again; common practice, no source."""

if TYPE_CHECKING:
    from hingeline.checks.results import NeutralResult
    from hingeline.checks.values import Judgement
    from hingeline.cli.visit import Visit
    from hingeline.measure.capture import Capture, Readings
    from hingeline.measure.pipeline import Instrument
    from hingeline.rig.sheet import Sheet
    from hingeline_calibration.datum import Datum


@click.command()
@sheet_argument
@surface_argument()
@port_option
@side_options
@fixed_option
@replay_option
@live_options
@command
def neutral(
    *,
    screen: Screen,
    live: LiveOptions,
    rig: Path,
    surface: str,
    ports: tuple[str, ...],
    replay: Path | None,
    **named: Any,
) -> int:
    """Match the neutrals of SURFACE, left with right, and tell what to turn.

    \b
    Example:
      hingeline neutral lantern.rig.toml flap

    Both sensors at the same distance from the root: skins slope, and surfaces taper. Bring one side to the
    manual's mark by eye; the other is matched to it. Where the sheet counts the neutral from the faired position,
    that is held first. Measures again after each change until it says MATCHED; with --no-input once. Exit status 0
    within the tolerance, 6 outside.
    """
    from hingeline.checks.results import write_result
    from hingeline.cli.opening import visit
    from hingeline.errors import OutOfTolerance
    from hingeline.rig import load_sheet

    sheet = load_sheet(rig)
    sheet.surface(surface)
    with visit(
        screen, ports, sheet.aircraft, "neutral", replay, sheet=sheet, live=live, surface=surface, **named
    ) as here:
        screen.say(CAUTION)
        again = shlex.join(("hingeline", "neutral", str(rig), surface, *given(ports, named)))
        reading = matched(here, sheet, surface, take_sides(here, sheet, surface, see=True), again)
    screen.data(f"{surface}, neutral\n{_text(reading, judgement_text)}", **write_result(reading))
    return 0 if reading.inside else OutOfTolerance.exit_status


def matched(
    here: Visit, sheet: Sheet, surface: str, sides: tuple[Instrument, ...], again: str
) -> NeutralResult:
    """Return the first reading that is inside; where nobody is asked, the first. `again` is the command to go on."""
    from hingeline.checks.neutral import NeutralCheck, needs_faired
    from hingeline.measure.capture import TakenBack
    from hingeline.measure.pipeline import sensors_of

    capture = here.capture(sensors_of(sides))
    reference: Datum | Readings
    if needs_faired(sheet, surface):
        here.ask(f"{surface}: hold it faired with the fixed part, and still.")
        reference = capture.rest()
        here.stage.took()
    else:
        reference = here.datum()
    check = NeutralCheck(sheet, surface, sides, reference)
    here.ask(f"{surface}: sticks centred, hands off, both sensors at the same distance from the root.")
    here.stage.judging(check.moments)
    taken: list[Readings] = []
    rest: Callable[[], Readings] = capture.rest
    while True:
        try:
            taken.append(rest())
        except TakenBack:
            taken = taken[:-1]
            check = NeutralCheck(sheet, surface, sides, reference)
            for rests in taken:
                check.read(rests)
            continue
        rest = partial(_changed, capture, again)
        here.stage.took()
        here.takes_back.append(f"reading {len(taken)}")
        reading = check.read(taken[-1])
        here.record_result(reading)
        if reading.inside or not here.asks:
            return reading
        here.screen.say(_text(reading, judgement_text), f"{surface}, neutral\n{_text(reading, brief_text)}")


def given(ports: tuple[str, ...], named: Mapping[str, Any]) -> Iterator[str]:
    """Yield the options that say what is measured."""
    for port in ports:
        yield from ("--port", port)
    for option in ("left", "right", "fixed"):
        if named[option]:
            yield from (f"--{option}", named[option])


def _changed(capture: Capture, again: str) -> Readings:
    """Return the rest after a change. Raises as `Capture.rest`."""
    from hingeline.errors import NotMeasurable

    try:
        return capture.rest(patience_s=CLEVIS_S)
    except NotMeasurable as problem:
        cure = f"{problem.cure}. What was recorded is kept; go on with `{again}`"
        raise NotMeasurable(problem.message, cure) from problem


def _text(reading: NeutralResult, said: Callable[[Judgement], str]) -> str:
    moved = moved_text(reading.moved_deg)
    return "\n".join([*map(said, reading.judgements), *([moved] if moved else [])])
