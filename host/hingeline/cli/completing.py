"""What the Tab key offers: rigging sheets, their surfaces, aircraft and sessions, sensors, ports.

Each function is a `shell_complete` of click. What can't be read offers nothing: the command itself tells why.
"""

from __future__ import annotations

import glob
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem

from hingeline.errors import SheetError

SHEETS = "*.rig.toml"


def sheets(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Offer rigging sheets; where there are none, whatever the shell offers."""
    paths = sorted(glob.glob(glob.escape(incomplete) + SHEETS))
    return [CompletionItem(path) for path in paths] or [CompletionItem(incomplete, type="file")]


def surfaces(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Offer the surfaces of the sheet before it, even of a sheet with mistakes."""
    from hingeline.rig.toml_models import parse_document, read_text

    path = context.params.get("rig")
    if path is None:
        return []
    try:
        document = parse_document(read_text(path, SheetError), str(path), SheetError)
    except SheetError:
        return []
    table = document.get("surface")
    return _fitting(table if isinstance(table, dict) else (), incomplete)


def aircraft(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Offer the recorded aircraft by the names of their folders, which need no quotes."""
    from hingeline.storage.store import default_root

    return _fitting((path.name for path in (default_root() / "sessions").glob("*")), incomplete)


def sessions(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Offer the recorded aircraft, and each with every day on which a session began."""
    from hingeline.storage.store import default_root

    days = {f"{path.parent.name}@{path.name[:10]}" for path in (default_root() / "sessions").glob("*/*")}
    return aircraft(context, parameter, incomplete) + _fitting(days, incomplete)


def sensors(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Offer the calibrated sensors."""
    from hingeline.storage.store import Store

    return _fitting(Store().keys("calibration"), incomplete)


def ports(context: click.Context, parameter: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Offer the USB serial ports."""
    from hingeline.device.link.ports import discover

    return [
        CompletionItem(candidate.port, help=candidate.name)
        for candidate in discover()
        if candidate.port.startswith(incomplete)
    ]


def _fitting(names: Iterable[str], incomplete: str) -> list[CompletionItem]:
    return [CompletionItem(name) for name in sorted(names) if name.startswith(incomplete)]


sheet_argument = click.argument("rig", type=click.Path(path_type=Path), shell_complete=sheets)
"""RIG, a rigging sheet."""


def surface_argument(*, required: bool = True) -> Callable[[Any], Any]:
    """Give a command SURFACE, a surface of the sheet before it."""
    return click.argument("surface", required=required, shell_complete=surfaces)
