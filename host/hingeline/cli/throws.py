"""`hingeline throws`: every throw beside the rigging sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline.cli.aircraft import CAUTION, judgement_text, replay_option, side_options, take_sides
from hingeline.cli.screen import Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.checks.throws import ThrowReading
    from hingeline.cli.visit import Visit
    from hingeline.rig.sheet import Sheet


@click.command()
@click.argument("rig", type=click.Path(path_type=Path))
@click.argument("surface", required=False)
@port_option
@side_options
@replay_option
@command
def throws(
    *,
    screen: Screen,
    rig: Path,
    surface: str | None,
    ports: tuple[str, ...],
    replay: Path | None,
    **named: str | None,
) -> int:
    """Check every throw of SURFACE, or of all surfaces, against the rigging sheet.

    Hold the stick still at each position it asks for; stillness takes the reading. Exit status 0 when every
    throw is within the tolerance you set, 6 when one is not.

    \b
    Examples:
      hingeline throws lantern.rig.toml
      hingeline throws lantern.rig.toml elevator --json
    """
    from hingeline.cli.visit import visit
    from hingeline.errors import OutOfTolerance
    from hingeline.rig import load_sheet

    sheet = load_sheet(rig)
    names = [surface] if surface else [name for name in sheet.surfaces if sheet.targets(name)]
    for name in names:
        sheet.surface(name)
    found: dict[str, list[ThrowReading]] = {}
    with visit(screen, ports, sheet.aircraft, "throws", replay, surface=surface, **named) as here:
        screen.say(CAUTION)
        for name in names:
            if len(names) > 1:
                here.pause(f"Tape the sensors on the {name}, then press")
            found[name] = _surface(here, sheet, name)
    inside = all(reading.inside for readings in found.values() for reading in readings)
    screen.data(
        "\n".join(_text(name, reading) for name, readings in found.items() for reading in readings),
        surfaces={name: [reading.to_dict() for reading in readings] for name, readings in found.items()},
        inside=inside,
    )
    return 0 if inside else OutOfTolerance.exit_status


def _surface(here: Visit, sheet: Sheet, surface: str) -> list[ThrowReading]:
    from hingeline.checks.throws import ThrowsCheck

    screen = here.screen
    sides = take_sides(here, sheet, surface)
    capture = here.capture([one.sensor_id for one in sides])
    screen.say(f"{surface}: sticks centred, hands off.")
    check = ThrowsCheck(sheet, surface, sides, capture.rest())
    screen.say("Neutral taken.")
    readings = []
    for reading in check.run(
        capture,
        lambda position: screen.say(f"{surface}: {position.name}, all the way, and hold."),
        lambda position: screen.say("Still near neutral: move it all the way and hold."),
    ):
        here.record("throw", surface=surface, **reading.to_dict())
        screen.say(_text(surface, reading))
        readings.append(reading)
    return readings


def _text(surface: str, reading: ThrowReading) -> str:
    return "\n".join(
        [f"{surface}, {reading.position.name}"] + [f"  {judgement_text(one)}" for one in reading.judgements]
    )
