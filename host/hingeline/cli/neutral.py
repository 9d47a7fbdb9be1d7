"""`hingeline neutral`: match left with right."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline.cli.aircraft import (
    CAUTION,
    fixed_option,
    judgement_text,
    moved_text,
    replay_option,
    side_options,
    take_sides,
)
from hingeline.cli.screen import Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.checks.neutral import NeutralReading


@click.command()
@click.argument("rig", type=click.Path(path_type=Path))
@click.argument("surface")
@port_option
@side_options
@fixed_option
@replay_option
@command
def neutral(
    *,
    screen: Screen,
    rig: Path,
    surface: str,
    ports: tuple[str, ...],
    replay: Path | None,
    **named: str | None,
) -> int:
    """Match the neutrals of SURFACE, left with right, and tell what to turn.

    Both sensors at the same distance from the root: skins slope, and surfaces taper. Bring one side to the
    manual's mark by eye; the other is matched to it. Where the sheet counts the neutral from the faired position,
    that is held first. Measures again after each change until it says HOLD; with --no-input once. Exit status 0
    within the tolerance, 6 outside.

    \b
    Example:
      hingeline neutral lantern.rig.toml flap
    """
    from hingeline.checks.neutral import NeutralCheck, needs_faired
    from hingeline.cli.visit import visit
    from hingeline.errors import OutOfTolerance
    from hingeline.pipeline import sensors_of
    from hingeline.rig import load_sheet

    sheet = load_sheet(rig)
    sheet.surface(surface)
    with visit(screen, ports, sheet.aircraft, "neutral", replay, surface=surface, **named) as here:
        screen.say(CAUTION)
        sides = take_sides(here, sheet, surface, see=True)
        datum, capture, faired = here.datum(), here.capture(sensors_of(sides)), None
        if needs_faired(sheet, surface):
            screen.say(f"{surface}: hold it faired with the fixed part, and still.")
            faired = capture.rest()
        check = NeutralCheck(sheet, surface, sides, datum, faired)
        screen.say(f"{surface}: sticks centred, hands off, both sensors at the same distance from the root.")
        while True:
            reading = check.read(capture.rest())
            here.record("neutral", surface=surface, **reading.to_dict())
            if reading.inside or not here.asks:
                break
            screen.say(_text(reading))
    screen.data(f"{surface}, neutral\n{_text(reading)}", surface=surface, **reading.to_dict())
    return 0 if reading.inside else OutOfTolerance.exit_status


def _text(reading: NeutralReading) -> str:
    moved = moved_text(reading.moved_deg)
    return "\n".join([*map(judgement_text, reading.judgements), *([moved] if moved else [])])
