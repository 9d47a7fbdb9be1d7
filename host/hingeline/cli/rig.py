"""`hingeline rig`: writes, checks, shows and changes a rigging sheet."""

from __future__ import annotations

from pathlib import Path

import click

from hingeline.cli.completing import sheets
from hingeline.cli.screen import Screen, command
from hingeline.errors import SheetError
from hingeline.rig import load_sheet
from hingeline.rig.templates import TEMPLATES
from hingeline.storage.store import Store

_SHEET = click.Path(path_type=Path)


@click.group()
def rig() -> None:
    """Write, check, show and change the rigging sheet of an aircraft.

    \b
    Examples:
      hingeline rig new lantern.rig.toml --template glider
      hingeline rig check lantern.rig.toml
      hingeline rig show lantern.rig.toml
      hingeline rig set lantern.rig.toml surface.flap.chord "48 mm"

    It holds surfaces, chords, throws and tolerances.
    """


@rig.command()
@click.argument("file", type=_SHEET)
@click.option(
    "--template",
    type=click.Choice(TEMPLATES),
    default="trainer",
    show_default=True,
    help="A sheet to begin with.",
)
@command
def new(file: Path, template: str, screen: Screen) -> None:
    """Write a new sheet to FILE (*.rig.toml).

    \b
    Example:
      hingeline rig new lantern.rig.toml --template glider

    Fill in the figures of your manual; those of the template are only examples.
    """
    from hingeline.storage.sheets import new_sheet

    new_sheet(file, template)
    screen.data(str(file), file=str(file), template=template)
    screen.say(f"Put your manual's figures into {file}, then: hingeline rig check {file}")


@rig.command()
@click.argument("file", type=_SHEET, shell_complete=sheets)
@command
def check(file: Path, screen: Screen) -> int:
    """List everything to fix in FILE, or say that it is right.

    \b
    Example:
      hingeline rig check lantern.rig.toml
    """
    try:
        sheet = load_sheet(file)
    except SheetError as problem:
        if not screen.as_json:
            raise
        mistakes = [mistake._asdict() for mistake in problem.mistakes]
        screen.data("", file=str(file), right=False, error=problem.message, cure=problem.cure, mistakes=mistakes)
        return problem.exit_status
    surfaces, modes, targets = len(sheet.surfaces), len(sheet.modes), len(sheet.targets())
    screen.data(
        f"{file} has no mistakes: {sheet.aircraft}, {surfaces} surfaces, {modes} modes, {targets} targets",
        file=str(file),
        right=True,
        aircraft=sheet.aircraft,
        surfaces=surfaces,
        modes=modes,
        targets=targets,
    )
    return 0


@rig.command()
@click.argument("file", type=_SHEET, shell_complete=sheets)
@command
def show(file: Path, screen: Screen) -> None:
    """Show FILE as a table: every target in degrees and mm.

    \b
    Example:
      hingeline rig show lantern.rig.toml

    mm are shown where the sheet gives a chord.
    """
    from hingeline.rig.show import sheet_data, sheet_text

    sheet = load_sheet(file)
    screen.data(sheet_text(sheet), **sheet_data(sheet))


# A value such as "-1.5 deg" begins like an option.
@rig.command(name="set", context_settings={"ignore_unknown_options": True})
@click.argument("file", type=_SHEET, shell_complete=sheets)
@click.argument("key")
@click.argument("value")
@command
def set_key(file: Path, key: str, value: str, screen: Screen) -> None:
    """Set KEY of FILE to VALUE; comments and layout stay.

    \b
    Examples:
      hingeline rig set lantern.rig.toml surface.flap.chord "48 mm"
      hingeline rig set lantern.rig.toml surface.flap.neutral.level "-1.5 deg"

    KEY is dotted, such as surface.flap.chord. VALUE is text, such as "48 mm", or a TOML list. A new surface begins
    with its kind: surface.spoiler.kind.
    """
    from hingeline.rig.edit import key_and_value
    from hingeline.storage.sheets import edit_sheet

    with Store().locked():  # of two edits at once, neither is lost
        edit_sheet(file, *key_and_value(key, value))
    screen.data(f"{file}: {key} = {value}", file=str(file), key=key, value=value)
