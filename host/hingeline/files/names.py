"""Names of files that stay in their folder, and that every system can hold.

A file may be copied to another computer, so the strictest system rules: Windows, by Microsoft's "Naming Files, Paths,
and Namespaces".
"""

from __future__ import annotations

import re
from pathlib import Path

from hingeline.errors import StoreError

NAME_LIMIT = 80
_FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f]')
_DEVICE = re.compile(r"(?is)(con|prn|aux|nul|con(in|out)\$|(com|lpt)[0-9¹²³]) *(\..*)?")
"""Names of devices in every folder, whatever comes after a dot."""


def safe_name(text: str) -> str:
    """Make a file name of `text`: letters, digits, `.`, `_` and `-`, no path, not hidden, not too long, no device."""
    name = re.sub(r"[^\w.-]+", "-", text).strip(".-")[:NAME_LIMIT]
    return portable_name(name)


def portable_name(name: str) -> str:
    """The nearest name that every system can hold: no device, no character that Windows refuses or leaves out."""
    name = _FORBIDDEN.sub("-", name).rstrip(". ") or "unnamed"
    return f"_{name}" if _DEVICE.fullmatch(name) else name


def check_name(path: Path) -> None:
    """Raise `StoreError` where Windows can't hold a file of this name: it opens a device, or another file."""
    portable = portable_name(path.name)
    if path.name not in ("", portable):
        raise StoreError(f"Windows can't hold a file called {path.name!r}", f"Name it {portable}")
