"""A terminal that a test reads, and what the large screen draws on it."""

import io
import re

from rich.console import Console

from hingeline.live.screen import LiveScreen


def console(columns=80, rows=24, **options) -> Console:
    """Return a terminal whose file can be read."""
    return Console(
        file=io.StringIO(),
        force_terminal=True,
        width=columns,
        height=rows,
        **{"color_system": "truecolor", "no_color": False, **options},
    )


def on_screen(shown, columns=80, rows=24, code="", **options) -> str:
    """Return a screen with a state."""
    terminal = console(columns, rows, **options)
    LiveScreen(terminal, keys=True, code=lambda: code).show(shown)
    return "\n".join(row.rstrip() for row in frame_rows(terminal.file.getvalue()))


def frame_rows(frame: str) -> list[str]:
    """Return the rows that were drawn."""
    return re.split(r"\x1b\[\d+;1H", frame)[1:]


def bare(text: str) -> str:
    """Return a text without its colours."""
    return re.sub(r"\x1b\[[\d;]*m", "", text)
