"""Sheets to start from; their figures are examples, to be replaced by those of the manual."""

from __future__ import annotations

import os
from importlib.resources import files
from pathlib import Path

from hingeline.errors import SheetError

SUFFIX = ".rig.toml"
TEMPLATES = ("trainer", "aerobatic", "flying-wing", "v-tail", "glider", "jet")
"""Names of the templates, the simplest first."""


def template_text(template: str) -> str:
    """Read the sheet of a template, one of `TEMPLATES`."""
    return (files("hingeline.rig") / "templates" / (template + SUFFIX)).read_text(encoding="utf-8")


def new_sheet(path: Path, template: str) -> None:
    """Write a template to a new file; the aircraft gets the file's name.

    Raises
    ------
    SheetError
        The file exists, its name is no `*.rig.toml` or names no aircraft, or it can't be written.
    """
    from hingeline.rig.edit import edited, write_sheet
    from hingeline.rig.toml_problems import brief

    aircraft = path.name.removesuffix(SUFFIX)
    if aircraft == path.name or not aircraft:
        raise SheetError(
            f"{path.name!r} is no name for a sheet, expected one that ends in {SUFFIX}",
            f"Name it {path.name.split('.')[0] or 'aircraft'}{SUFFIX}",
        )
    content = edited(template_text(template), str(path), ("aircraft",), aircraft).encode()
    if os.path.lexists(path):
        raise SheetError(f"{brief(path)} exists and isn't overwritten", "Choose another name")
    write_sheet(path, content)
