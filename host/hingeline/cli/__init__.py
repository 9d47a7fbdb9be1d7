"""What does the user type? Each module parses, calls and prints; the other rooms do the work.

A command's module is imported when it is called, and it imports the numerical stack inside its function:
`hingeline --version` and `--help` cost no more than click.
"""

import gc
import importlib
import os
import pkgutil
import sys

import click

from hingeline import __version__
from hingeline.cli import commands
from hingeline.cli.ending import run_to_its_end
from hingeline.cli.group import Group

ALIASES = {"closure": "drift-check"}
"""Former names, which go on working."""

LOADED_OBJECTS = 100_000
"""What is loaded stays: to look for garbage after each 700 objects of it, as Python does, is a tenth of the start."""

COMPLETE = "_HINGELINE_COMPLETE"
"""The variable by which a shell asks what the Tab key offers."""
EPILOG = """\b
Exit status: 0 done and within tolerance, 2 usage or a file to fix, 3 no
board or lost, 4 port busy or forbidden, or another hingeline is saving,
5 wrong firmware or protocol, 6 measured and out of tolerance, 7 not
measurable, 70 a fault of hingeline itself, 130 interrupted, 141 the
reader of its output ended."""


class _Commands(Group):
    """Finds a command in the module of `commands` that has its name."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(module.name.replace("_", "-") for module in pkgutil.iter_modules(commands.__path__))

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        name = ALIASES.get(cmd_name, cmd_name)
        if name not in self.list_commands(ctx):
            return None
        module = name.replace("-", "_")
        command: click.Command = getattr(importlib.import_module(f"{commands.__name__}.{module}"), module)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        for section, summaries in summarize(ctx).items():
            with formatter.section(section):
                formatter.write_dl(list(summaries.items()))


def summarize(context: click.Context) -> dict[str, dict[str, str]]:
    """Import every command, and give by section the first line of the help of each."""
    for name in cli.list_commands(context):
        cli.get_command(context, name)
    return {
        section: {name: (made.help or "").strip().split("\n")[0] for name, made in sorted(commands_of.items())}
        for section, commands_of in commands.SECTIONS.items()
    }


@click.command(
    cls=_Commands,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"]},
    invoke_without_command=True,
)
@click.version_option(__version__, prog_name="hingeline")
@click.pass_context
def cli(context: click.Context) -> object:
    """Set up the control surfaces of a model aircraft, by sensors you build.

    \b
    Examples:
      hingeline                          where you are, and the next step
      hingeline demo                     see the whole job done, no hardware
      hingeline setup lantern.rig.toml   the whole job, in one sitting
      hingeline help throws              how to use one command

    Match left and right neutrals, then check each throw against the rigging sheet, in mm at the chord or degrees.
    Propeller off or motor disconnected before anything moves.
    """
    if context.invoked_subcommand is not None:
        return None
    first_command = cli.get_command(context, "here")
    assert first_command is not None
    return context.invoke(first_command)


def main() -> None:
    """Run the command line and exit with the documented status."""
    gc.set_threshold(LOADED_OBJECTS)
    if COMPLETE in os.environ:
        importlib.import_module("hingeline.cli.powershell")  # which click has not
    sys.exit(run_to_its_end(lambda: cli.main(standalone_mode=False) or 0))
