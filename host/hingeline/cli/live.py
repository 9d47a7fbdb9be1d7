"""What a command shows and hears at the bench while it measures: the options for it, and the views they ask for."""

from __future__ import annotations

import functools
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.screen import Number, Screen, tell
from hingeline.errors import Interrupted

if TYPE_CHECKING:
    from hingeline.live.keys import Key
    from hingeline.live.picture import Picture
    from hingeline.live.showing import Showing, View
    from hingeline.live.stage import Stage


@dataclass(frozen=True)
class LiveOptions:
    """How a command shows what it measures.

    Attributes
    ----------
    plain
        Lines, even on a terminal that can do more.
    quiet, speak
        No sound; words too.
    page
        The address that the phone page is offered on; None without a page.
    page_capture
        Whether the page may press keys.
    """

    plain: bool = False
    quiet: bool = False
    speak: bool = False
    page: str | None = None
    page_capture: bool = False


def live_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `live`, how it shows what it measures, and `hold_s`, how long a rest must last."""
    from hingeline.live.page.address import LOOPBACK

    @click.option(
        "--hold",
        "hold_s",
        type=Number(0.3, 10),
        metavar="SECONDS",
        help="How long a rest must last. Default: 0.7 s.",
    )
    @click.option("--plain", is_flag=True, help="Lines instead of the large screen: for screen readers.")
    @click.option("--quiet", is_flag=True, help="No tones, no bell.")
    @click.option("--speak", is_flag=True, help="Say aloud what is asked and what was captured.")
    @click.option("--page", is_flag=True, help="The same on a page of this computer, for a browser.")
    @click.option(
        "--page-on",
        metavar="ADDRESS",
        help="The page for the phones of the local network: this computer's address there.",
    )
    @click.option("--page-capture", is_flag=True, help="The page has keys: take it now, take back, units.")
    @functools.wraps(function)
    def run(
        *arguments: Any,
        plain: bool,
        quiet: bool,
        speak: bool,
        page: bool,
        page_on: str | None,
        page_capture: bool,
        **options: Any,
    ) -> Any:
        offered = page_on or (LOOPBACK if page or page_capture else None)
        live = LiveOptions(plain, quiet, speak, offered, page_capture)
        return function(*arguments, live=live, **options)

    return run


def stopped(how: str) -> Interrupted:
    """Return what ends a command that records when its user does."""
    return Interrupted(how, "What was recorded so far is kept; `hingeline` alone names the next step")


class Bench:
    """The views of a stage, and the keys that are pressed.

    Attributes
    ----------
    pressed
        Keys that nobody has heeded yet.
    keys
        Whether a keyboard is heard.
    showing
        Shows; None where nothing is to be shown.
    """

    def __init__(self) -> None:
        self.pressed: SimpleQueue[Key] = SimpleQueue()
        self.keys = False
        self.showing: Showing | None = None

    def wait(self, swap_units: Callable[[], None]) -> None:
        """Wait until a key confirms. Raises `Interrupted` at the key that quits."""
        while (key := self.pressed.get()) != "confirm":
            if key == "quit":
                raise stopped("Stopped at a key")
            if key == "units":
                swap_units()

    def check(self) -> None:
        """Raise what keeps a view from showing."""
        if self.showing is not None:
            self.showing.check()


@contextmanager
def views(screen: Screen, stage: Stage, live: LiveOptions | None) -> Iterator[Bench]:
    """Show a stage as the options ask, hear keys, and give the terminal back; without options, say what is wrong.

    Raises
    ------
    UsageProblem
        See `Page` and `Speech`.
    """
    from hingeline.live.keys import LEGEND, NO_KEYS
    from hingeline.live.plain import spoken, wrong
    from hingeline.live.showing import Showing

    bench = Bench()
    with ExitStack() as open_things:
        if live is None:
            bench.showing = open_things.enter_context(Showing(stage, [_lines(screen.say, wrong)]))
            yield bench
            return
        found = list(_further(screen, live, bench, open_things))
        terminal = sys.stderr.isatty()
        bench.keys = screen.asks and terminal
        if terminal and not live.plain and os.environ.get("TERM") != "dumb":
            found.append(_large(screen, bench, found, open_things))
        else:
            screen.say(f"Keys: {LEGEND}" if bench.keys else NO_KEYS.capitalize())
            found.append(_lines(lambda line: tell(line, sys.stderr), spoken))
        if bench.keys:
            from hingeline.live.keys import Keyboard

            open_things.enter_context(Keyboard(bench.pressed.put))
        screen.overheard = stage.tell
        open_things.callback(setattr, screen, "overheard", None)
        bench.showing = open_things.enter_context(Showing(stage, found))
        yield bench


def _further(screen: Screen, live: LiveOptions, bench: Bench, open_things: ExitStack) -> Iterator[View]:
    """Yield page, sound and speech."""
    if live.page is not None:
        from hingeline.live.page.server import Page

        page = open_things.enter_context(Page(live.page, bench.pressed.put if live.page_capture else None))
        screen.say(f"Page: {page.url}")
        yield page
    if sys.stderr.isatty() and not live.quiet:
        from hingeline.live.sound.output import open_sound

        sound = open_sound(lambda: click.echo("\a", nl=False, err=True))
        open_things.callback(sound.close)
        yield sound
    if live.speak:
        from hingeline.live.sound.speech import Speech

        speech = Speech()
        open_things.callback(speech.close)
        yield speech


def _large(screen: Screen, bench: Bench, others: list[View], open_things: ExitStack) -> View:
    from rich.console import Console

    from hingeline.live.page.address import LOOPBACK, code
    from hingeline.live.page.server import Page
    from hingeline.live.screen import LiveScreen

    page = next((one for one in others if isinstance(one, Page)), None)
    drawn = ""
    if page:  # no phone reaches the loopback
        drawn = f"Open on this computer: {page.url}" if LOOPBACK in page.url else code(page.url)
    shown = LiveScreen(
        Console(stderr=True, highlight=False), bench.keys, lambda: drawn if page and not page.came else ""
    )
    open_things.callback(screen.release)
    screen.hold()
    return open_things.enter_context(shown)


def _lines(say: Callable[[str], None], tell: Callable[[Picture], str]) -> View:
    from time import monotonic

    from hingeline.live.plain import PlainLines

    return PlainLines(say, monotonic, tell)
