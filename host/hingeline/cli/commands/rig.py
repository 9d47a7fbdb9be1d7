"""Write, check, show and change the rigging sheet of an aircraft.

\b
Examples:
  hingeline rig new lantern.rig.toml --template glider
  hingeline rig check lantern.rig.toml
  hingeline rig show lantern.rig.toml
  hingeline rig edit lantern.rig.toml
  hingeline rig set lantern.rig.toml surface.flap.chord "48 mm"

It holds surfaces, chords, throws and tolerances.
"""

from pathlib import Path

import click

from hingeline.cli.command import in_section, setting, subcommand
from hingeline.cli.commands import SET_UP
from hingeline.cli.completing import sheets
from hingeline.cli.group import Group
from hingeline.cli.screen import Screen
from hingeline.errors import SheetError
from hingeline.procedures.shell import quote
from hingeline.rig import load_sheet
from hingeline.rig.templates import TEMPLATES
from hingeline.storage.store import Store

_WAIT_S = 0.2

_file = click.argument("file", type=click.Path(path_type=Path), shell_complete=sheets)


@in_section(SET_UP)
@click.group(cls=Group, help=__doc__)
def rig() -> None:
    pass


@subcommand(rig, "new")
@click.argument("file", type=click.Path(path_type=Path))
@setting("--template", click.Choice(TEMPLATES), "trainer", f"A sheet to begin with: {', '.join(TEMPLATES)}.", "NAME")
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
    screen.say(f"Put your manual's figures into {file}, then: hingeline rig check {quote(str(file))}")


@subcommand(rig, "check")
@_file
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
    counts = {"surfaces": len(sheet.surfaces), "modes": len(sheet.modes), "targets": len(sheet.targets())}
    listed = ", ".join(f"{count} {noun}" for noun, count in counts.items())
    text = f"{file} has no mistakes: {sheet.aircraft}, {listed}"
    screen.data(text, file=str(file), right=True, aircraft=sheet.aircraft, **counts)
    return 0


@subcommand(rig, "show")
@_file
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


@subcommand(rig, "edit")
@_file
def edit(file: Path, screen: Screen) -> None:
    """Fill in FILE as a form in the browser, on this computer alone.

    \b
    Example:
      hingeline rig edit lantern.rig.toml

    Nothing is written before you save, and only what is right. Comments, layout and keys that hingeline does not know
    stay. The command ends when you close the form, or with Ctrl-C.
    """
    import webbrowser

    from hingeline.form.server import SheetForm
    from hingeline.rig.toml_models import read_text
    from hingeline.storage.sheets import replace_sheet

    def save(former: str, text: str) -> None:
        with Store().locked():
            replace_sheet(file, former, text)

    with SheetForm(str(file), read_text(file, SheetError), save) as form:
        opened = webbrowser.open(form.url)
        screen.say(f"The form is {'open in your browser' if opened else 'here'}: {form.url}")
        while not form.closed.wait(_WAIT_S):  # Windows heeds Ctrl-C between two waits
            pass
        screen.data(str(file), file=str(file), is_saved=form.draft.is_saved)


# A value such as "-1.5 deg" begins like an option.
@subcommand(rig, "set", context_settings={"ignore_unknown_options": True})
@_file
@click.argument("key")
@click.argument("value")
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
