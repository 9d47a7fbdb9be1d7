"""Rigging sheets that a command writes: begun from a template, or one key changed, whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from hingeline.errors import SheetError, StoreError
from hingeline.files.names import portable_name
from hingeline.files.whole import write_whole
from hingeline.rig.edit import edited
from hingeline.rig.templates import SUFFIX, template_text
from hingeline.rig.toml_mistakes import Key, brief
from hingeline.rig.toml_models import read_text


def new_sheet(path: Path, template: str) -> None:
    """Write a template to a new file; the aircraft gets the file's name.

    Raises `SheetError` (the file exists, its name is no `*.rig.toml`, or names no aircraft or a device, or it can't be
    written).
    """
    aircraft = path.name.removesuffix(SUFFIX)
    if aircraft == path.name or not aircraft:
        raise SheetError(
            f"{path.name!r} can't name a sheet, expected one that ends in {SUFFIX}",
            f"Name it {portable_name((path.name.split('.')[0] or 'aircraft') + SUFFIX)}",
        )
    text = partial(edited, template_text(template), str(path), ("aircraft",), aircraft)
    if os.path.lexists(path):
        raise SheetError(f"{brief(path)} exists and isn't overwritten", "Choose another name")
    _write(path, text)


def edit_sheet(path: Path, key: Key, value: Any) -> None:
    """Set one key of the sheet at `path`.

    Raises `SheetError` (the sheet can't be read or written, or would have something to fix; then nothing is written).
    """
    _write(path, lambda: edited(read_text(path, SheetError), str(path), key, value))


def replace_sheet(path: Path, former: str, text: str) -> None:
    """Write a whole sheet over `former`, which its file still holds.

    Raises `SheetError` (another program has changed or removed it meanwhile, or it can't be written).
    """

    def unless_changed() -> str:
        if read_text(path, SheetError) != former:
            cure = "Start again to see what it holds now, and type your changes anew"
            raise SheetError(f"{brief(path)} was changed by another program meanwhile", cure)
        return text

    _write(path, unless_changed)


def _write(path: Path, text: Callable[[], str]) -> None:
    try:
        write_whole(path, lambda: text().encode(), elsewhere="name another file")
    except StoreError as problem:
        raise SheetError(problem.message, problem.cure) from problem
