"""Show how to use COMMAND, or all of them.

\b
Examples:
  hingeline help throws
  hingeline help rig new
  hingeline help options

`hingeline help options` tells the options that many commands share.
"""

import click

from hingeline.cli.command import Command, in_section
from hingeline.cli.commands import SET_UP
from hingeline.cli.group import Group

OPTIONS = "options"
SAMPLE = "throws"
"""It has all options that are shared."""


def _help(words: tuple[str, ...]) -> None:
    context = click.get_current_context().find_root()
    if words == (OPTIONS,):
        click.echo(_options(context))
        return
    rest = list(words)
    while rest and isinstance(context.command, Group):
        name, command, rest = context.command.resolve_command(context, rest)
        assert command is not None
        context = click.Context(command, context, info_name=name)
    click.echo(context.get_help())


def _options(context: click.Context) -> str:
    assert isinstance(context.command, Group)
    sample = context.command.get_command(context, SAMPLE)
    assert isinstance(sample, Command)
    formatter = context.make_formatter()
    shared = [each for each in sample.params if each.name in sample.shared]
    formatter.write_dl([record for each in shared if (record := each.get_help_record(context))])
    return formatter.getvalue().rstrip("\n")


help = in_section(SET_UP)(
    click.command(help=__doc__, name="help")(click.argument("words", nargs=-1, metavar="[COMMAND]...")(_help))
)
