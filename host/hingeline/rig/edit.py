"""Changes to a sheet that keep its comments and its layout."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from hingeline.errors import SheetError
from hingeline.rig import parse_sheet
from hingeline.rig.sheet import known_name
from hingeline.rig.toml_mistakes import Key, brief, dotted, split_key
from hingeline.rig.toml_models import parse_document

MOST_NAMES = 8
"""No key of a sheet has as many."""


def key_and_value(key: str, value: str) -> tuple[Key, Any]:
    """Read a dotted key and a value as they are typed; a value that is no TOML is text. Raises `SheetError`."""
    try:
        names = split_key(key)
    except ValueError as problem:
        text = f"found the key {key!r}, expected names with dots between"
        raise SheetError(text, "Try surface.flap.chord") from problem
    if len(names) > MOST_NAMES:
        raise SheetError(f"found a key of {len(names)} names, expected up to {MOST_NAMES}", "Try surface.flap.chord")
    try:
        return names, tomlkit.value(value).unwrap()
    except TOMLKitError:
        return names, value


def edited(text: str, name: str, key: Key, value: Any) -> str:
    """Set one key in the text of a sheet, `name` its file in messages. Raises `SheetError`.

    A new surface begins with its kind: with another key its name is taken for a misspelled one.
    """
    document = parse_document(text, name, SheetError)
    surfaces = document.get("surface")
    if key[0] == "surface" and key[2:] not in ((), ("kind",)) and isinstance(surfaces, Mapping):
        known_name(str(key[1]), "surface", tuple(surfaces))
    table: MutableMapping[Any, Any] = document
    for depth, part in enumerate(key[:-1], start=1):
        table = table.setdefault(part, tomlkit.table())
        if not isinstance(table, MutableMapping):
            message = f"{brief(name)}: {dotted(key[:depth])} is a value, expected a table"
            raise SheetError(message, "Name a key of the sheet")
    table[key[-1]] = value
    changed = document.as_string()
    parse_sheet(changed, name)
    return changed
