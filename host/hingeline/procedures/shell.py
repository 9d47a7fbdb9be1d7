"""Commands to be typed, quoted for the shell that is in use."""

from __future__ import annotations

import os
import re
import shlex
import sys

_BARE = re.compile(r"[\w./\\:=+-]+")
"""What neither shell of Windows reads anything into."""


def quote(text: str) -> str:
    """Write a text as one word of a command: of sh, or on Windows of PowerShell or the command prompt."""
    if sys.platform != "win32" or "SHELL" in os.environ:  # a Unix shell on Windows sets it
        return shlex.quote(text)
    if _BARE.fullmatch(text):
        return text
    if _is_powershell():
        return "'" + text.replace("'", "''") + "'"
    return '"' + text.replace('"', '""') + '"'


def join(words: tuple[str, ...]) -> str:
    """Write words as a command."""
    return " ".join(map(quote, words))


def _is_powershell() -> bool:
    """PowerShell adds the user's own folder of modules to the two that every program is told of."""
    return len(os.environ.get("PSMODULEPATH", "").split(";")) > 2
