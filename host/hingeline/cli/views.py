"""The views that a command's options ask for: screen or lines, page, sound, speech, and the keyboard."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from time import perf_counter
from typing import TYPE_CHECKING

import click
from rich.console import Console

from hingeline.cli.console import draws, is_terminal
from hingeline.cli.options import LiveOptions
from hingeline.cli.screen import Screen, tell
from hingeline.cli.streams import can_encode
from hingeline.live.keys import NO_KEYS, hear_keys
from hingeline.live.plain import PlainLines, spoken, wrong
from hingeline.live.screen import LiveScreen
from hingeline.live.showing import Showing, View
from hingeline.procedures.keys import KEYS_TEXT, Keys
from hingeline.web.address import LOOPBACK, code

if TYPE_CHECKING:
    from hingeline.live.page.server import Page


@contextmanager
def open_views(screen: Screen, live: LiveOptions | None, keys: Keys) -> Iterator[Showing]:
    """Show as the options ask, hear keys, and give the terminal back; without options, say what is wrong.

    Raises `UsageProblem` as `Page` and `Speech` do.
    """
    with ExitStack() as stack:
        if live is None:
            yield stack.enter_context(Showing([PlainLines(screen.say, perf_counter, wrong)]))
            return
        page = _offer_page(screen, live, keys, stack)
        views = [*([page] if page else []), *_heard(live, stack)]
        terminal = is_terminal(sys.stderr)
        keys.are_heard = screen.asks and terminal
        if not live.plain and draws(sys.stderr):
            views.append(_large(screen, keys, page, stack))
        else:
            screen.say(f"Keys: {KEYS_TEXT}" if keys.are_heard else NO_KEYS.capitalize())
            views.append(PlainLines(lambda line: tell(line, sys.stderr), perf_counter, spoken))
        if keys.are_heard:
            stack.enter_context(hear_keys(keys.pressed.put))
        screen.has_views = True
        stack.callback(setattr, screen, "has_views", False)
        yield stack.enter_context(Showing(views))


def _offer_page(screen: Screen, live: LiveOptions, keys: Keys, stack: ExitStack) -> Page | None:
    if live.page_address is None:
        return None
    from hingeline.live.page.server import Page  # with a web server: only who wants a page waits for it

    page = stack.enter_context(Page(live.page_address, keys.pressed.put if live.page_capture else None))
    screen.say(f"Page: {page.url}")
    return page


def _heard(live: LiveOptions, stack: ExitStack) -> Iterator[View]:
    """Sound and speech."""
    if is_terminal(sys.stderr) and not live.quiet:
        from hingeline.live.sound.output import open_sound

        yield stack.enter_context(closing(open_sound(lambda: click.echo("\a", nl=False, err=True))))
    if live.speak:
        from hingeline.live.sound.speech import Speech

        yield stack.enter_context(closing(Speech()))


def _large(screen: Screen, keys: Keys, page: Page | None, stack: ExitStack) -> View:
    drawn = ""
    if page:  # no phone reaches the loopback, and blocks of a code have no other letters
        drawn = code(page.url)
        if LOOPBACK in page.url or not can_encode(drawn, sys.stderr):
            drawn = f"Open on this computer: {page.url}" if LOOPBACK in page.url else f"Open: {page.url}"
    stack.callback(screen.release)
    screen.hold()
    console = Console(stderr=True, highlight=False, legacy_windows=False)  # `draws` has seen to that
    return stack.enter_context(LiveScreen(console, keys.are_heard, lambda: drawn if page and not page.came else ""))
