"""Practise a whole set-up without hardware, with keys for your hands.

\b
Example:
  hingeline practice

A small invented tail stands on a virtual bench, and something is wrong with it: find out and set it right. Your keys
lay and tape the sensors, move the stick, turn the clevis and the end points; the screen says which. At the end you see
the truth beside what you measured. It takes some five minutes. Nothing of it is kept.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from hingeline.cli.command import command
from hingeline.cli.commands import SET_UP
from hingeline.cli.console import draws
from hingeline.cli.screen import Screen
from hingeline.errors import Interrupted, UsageProblem


@command(SET_UP)
def practice(screen: Screen) -> int:
    from hingeline.cli.options import CAUTION
    from hingeline.cli.playing import Player, open_practice_views
    from hingeline.demo import practice as practising
    from hingeline.procedures.opening import open_boards
    from hingeline.procedures.setup import set_up
    from hingeline.rig import load_sheet
    from hingeline_virtual.client import VirtualBench

    if not (screen.asks and draws(sys.stderr)):
        raise UsageProblem("Practice needs a terminal, for its screen and your keys", "Try `hingeline demo` instead")
    sheet = load_sheet(practising.SHEET)
    with _home() as home:
        screen.say("Your two invented sensors are being calibrated; on a real bench that takes twenty minutes.")
        practising.calibrate(home)
        with VirtualBench(practising.SCENARIO) as bench:
            player = Player(practising.hands(), bench)
            try:
                with open_boards(
                    screen,
                    tuple(bench.ports.values()),
                    sheet.aircraft,
                    "setup",
                    asks=True,
                    views=lambda keys: open_practice_views(screen, keys, player),
                    enter=screen.enter,
                    sheet=sheet,
                    choices={},
                ) as runner:
                    runner.say(CAUTION)
                    job = set_up(runner, sheet, practising.work(), "hingeline practice")
            except Interrupted as problem:
                raise Interrupted(problem.message, "Nothing of it is kept; `hingeline practice` begins anew") from None
            shown = list(practising.rows(job, player.hands, player.neutrals_deg()))
    text = "\n".join(["What was wrong:", *(f"    {text}" for text in practising.HIDDEN), "", "As you left it:"])
    text += "".join(f"\n{row.text()}" for row in shown)
    return screen.verdict(text, rows=[row.to_dict() for row in shown], inside=job.inside)


@contextmanager
def _home() -> Iterator[Path]:
    """A store that is thrown away, in place of the person's own."""
    with ExitStack() as stack:
        folder = Path(stack.enter_context(TemporaryDirectory(prefix="hingeline-", ignore_cleanup_errors=True)))
        former = os.environ.get("HINGELINE_HOME")
        stack.callback(_set_home, former)
        _set_home(str(folder))
        yield folder


def _set_home(folder: str | None) -> None:
    if folder is None:
        os.environ.pop("HINGELINE_HOME", None)
    else:
        os.environ["HINGELINE_HOME"] = folder
