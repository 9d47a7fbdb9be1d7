"""The views that a command's options ask for: screen or lines, page, sound, speech, and the keyboard."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from time import monotonic

import click
from rich.console import Console

from hingeline.cli.options import LiveOptions
from hingeline.cli.screen import Screen, tell
from hingeline.live.keys import NO_KEYS, Keyboard
from hingeline.live.page.address import LOOPBACK, code
from hingeline.live.page.server import Page
from hingeline.live.plain import PlainLines, spoken, wrong
from hingeline.live.screen import LiveScreen
from hingeline.live.showing import Showing, View
from hingeline.live.sound.output import open_sound
from hingeline.live.sound.speech import Speech
from hingeline.procedures.keys import KEYS_TEXT, Keys
from hingeline.procedures.state import State


@contextmanager
def open_views(screen: Screen, live: LiveOptions | None, keys: Keys) -> Iterator[Showing]:
    """Show as the options ask, hear keys, and give the terminal back; without options, say what is wrong.

    Raises
    ------
    UsageProblem
        See `Page` and `Speech`.
    """
    with ExitStack() as stack:
        if live is None:
            yield stack.enter_context(Showing([_lines(screen.say, wrong)]))
            return
        views = list(_further(screen, live, keys, stack))
        terminal = sys.stderr.isatty()
        keys.are_heard = screen.asks and terminal
        if terminal and not live.plain and os.environ.get("TERM") != "dumb":
            views.append(_large(screen, keys, views, stack))
        else:
            screen.say(f"Keys: {KEYS_TEXT}" if keys.are_heard else NO_KEYS.capitalize())
            views.append(_lines(lambda line: tell(line, sys.stderr), spoken))
        if keys.are_heard:
            stack.enter_context(Keyboard(keys.pressed.put))
        screen.has_views = True
        stack.callback(setattr, screen, "has_views", False)
        yield stack.enter_context(Showing(views))


def _further(screen: Screen, live: LiveOptions, keys: Keys, stack: ExitStack) -> Iterator[View]:
    """Page, sound and speech."""
    if live.page is not None:
        page = stack.enter_context(Page(live.page, keys.pressed.put if live.page_capture else None))
        screen.say(f"Page: {page.url}")
        yield page
    if sys.stderr.isatty() and not live.quiet:
        sound = open_sound(lambda: click.echo("\a", nl=False, err=True))
        stack.callback(sound.close)
        yield sound
    if live.speak:
        speech = Speech()
        stack.callback(speech.close)
        yield speech


def _large(screen: Screen, keys: Keys, others: list[View], stack: ExitStack) -> View:
    page = next((view for view in others if isinstance(view, Page)), None)
    drawn = ""
    if page:  # no phone reaches the loopback
        drawn = f"Open on this computer: {page.url}" if LOOPBACK in page.url else code(page.url)
    shown = LiveScreen(
        Console(stderr=True, highlight=False),
        keys.are_heard,
        lambda: drawn if page and not page.came else "",
    )
    stack.callback(screen.release)
    screen.hold()
    return stack.enter_context(shown)


def _lines(say: Callable[[str], None], tell: Callable[[State], str]) -> View:
    return PlainLines(say, monotonic, tell)
