"""What does the user type? Each module parses, calls and prints; the other rooms do the work.

A command's module is imported when it is called, and it imports the numerical stack inside its function:
`hingeline --version` and `--help` cost no more than click.
"""

import gc
import importlib
import signal
import sys
from difflib import get_close_matches

import click

from hingeline import __version__

# name: (module and attribute, what `hingeline --help` says), in the order of the job
COMMANDS = {
    "here": ("here:here", "Where you are and the next step, as `hingeline` alone tells it."),
    "demo": ("demo:demo", "The whole job on two invented sensors and an invented glider."),
    "install": ("install:install", "Put the firmware on a board, or bring it up to date."),
    "configure": ("configure:configure", "The configuration of a board: name, pins, chips, rate."),
    "boards": ("boards:boards", "What is plugged in: boards, sensors, calibrations."),
    "doctor": ("doctor:doctor", "Look for what is wrong between this computer and the sensors."),
    "warm-up": ("stability:warm_up", "Wait until the sensors are warm; tell their drift."),
    "noise": ("stability:noise", "Measure each sensor's noise, and the best averaging time."),
    "wifi": ("wifi:wifi", "Let a board join a Wi-Fi network and be reached there."),
    "calibrate": ("calibrate:calibrate", "Calibrate sensors on a flat table, face by face."),
    "calibration": ("calibration:calibration", "What is kept of each sensor: history, copies, export."),
    "wiggle": ("wiggle:wiggle", "Tell which sensor is left, which right, by wiggling it."),
    "datum": ("datum:datum", "Lay all sensors on one flat: their common reference."),
    "drift-check": ("datum:drift_check", "Lay the sensors on the flat again: does the datum still hold?"),
    "rig": ("rig:rig", "Write, check and show a rigging sheet."),
    "linkage": ("linkage:linkage", "What a linkage gives, and which holes serve best."),
    "hinge": ("hinge:hinge", "Find the hinge line of a surface in its sensors, from a sweep."),
    "neutral": ("neutral:neutral", "Match the neutrals of a surface, left with right."),
    "throws": ("throws:throws", "Check every throw against the rigging sheet."),
    "sweep": ("sweep:sweep", "Left against right over the whole travel."),
    "play": ("play:play", "How loose a surface is."),
    "centring": ("centring:centring", "How well a surface comes back to neutral."),
    "droop": ("droop:droop", "What a held surface does in a minute."),
    "direction": ("direction:direction", "Which way every surface goes."),
    "report": ("report:report", "A session on paper: limits, readings, verdicts, plots."),
    "compare": ("compare:compare", "What moved since an earlier session."),
    "sessions": ("sessions:sessions", "What was recorded, by aircraft and date."),
    "watch": ("watch:watch", "Show what every sensor reads, live."),
    "virtual": ("virtual:virtual", "Sensors, table and aircraft without hardware."),
    "completion": ("completion:completion", "Let the Tab key complete what you type, in your shell."),
}

ALIASES = {"closure": "drift-check"}
"""Former names, which go on working."""

LOADED_OBJECTS = 100_000
"""What is loaded stays: to look for garbage after each 700 objects of it, as Python does, is a tenth of the start."""

EPILOG = """\b
Exit status: 0 done and within tolerance, 2 usage or a file to fix, 3 no
board or lost, 4 port busy or forbidden, or another hingeline is saving,
5 wrong firmware or protocol, 6 measured and out of tolerance, 7 not
measurable, 130 interrupted, 141 the reader of its output ended."""


class _Commands(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        name = ALIASES.get(cmd_name, cmd_name)
        if name not in COMMANDS:
            return None
        module, attribute = COMMANDS[name][0].split(":")
        command: click.Command = getattr(importlib.import_module(f"hingeline.cli.{module}"), attribute)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        is_known = args[0] in COMMANDS or args[0] in ALIASES or args[0].startswith("-")
        if not is_known and not ctx.resilient_parsing:
            near = " or ".join(get_close_matches(args[0], COMMANDS)) or "one that `hingeline --help` lists"
            ctx.fail(f"There is no command {args[0]!r}. Try {near}.")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


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
    Examples, a first session in order:
      hingeline                           where you are, and the next step
      hingeline demo                      see the whole job done, no hardware
      hingeline install                   the firmware onto the board, once
      hingeline boards                    are the sensors there?
      hingeline calibrate                 eighteen poses on a flat table, once
      hingeline wiggle                    which sensor is left, which right
      hingeline datum                     all sensors on one flat, each session
      hingeline rig new lantern.rig.toml  then fill in the manual's figures
      hingeline neutral lantern.rig.toml flap
      hingeline throws lantern.rig.toml
      hingeline report "Moss Lantern"     the sheet to keep

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
    _end_as_at_ctrl_c()
    gc.set_threshold(LOADED_OBJECTS)
    try:
        status = cli.main(standalone_mode=False)
    except click.ClickException as problem:
        problem.show()
        sys.exit(problem.exit_code)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Interrupted.", err=True)
        sys.exit(130)
    sys.exit(status or 0)


def _end_as_at_ctrl_c() -> None:
    """Let who ends a command, or closes its terminal, end it as Ctrl-C does: the terminal comes back as it was."""
    for name in ("SIGTERM", "SIGHUP"):  # Windows has no SIGHUP, and nohup has it ignored
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) == signal.SIG_DFL:
            signal.signal(number, signal.default_int_handler)
