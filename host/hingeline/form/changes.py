"""What was typed into the form, put into the text of the sheet: comments, layout and unknown keys stay."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping, Sequence
from copy import deepcopy
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from hingeline.errors import SheetError
from hingeline.form.fields import MODES, PRESET, SIDES, SURFACE, Field, Form, Part, form_of
from hingeline.rig.kinds import KINDS
from hingeline.rig.rename import renamed
from hingeline.rig.toml_mistakes import Key

_OWN_TABLE = 2
"""A table that the person has named stays when it is emptied: `surface.NAME`."""


def with_typed(text: str, typed: Mapping[str, str]) -> str:
    """The sheet with every field that was typed anew, by its name; what is emptied is taken out.

    A new name of a mode or a surface goes to every place that speaks of it. What is no field of the form is not heeded.
    Raises `SheetError` where two modes or two surfaces would have one name.
    """
    form = form_of(text)
    for field in form.fields():
        value = _clean(typed, field)
        if value != field.value:
            text = with_value(text, field.key, _as_toml(field, value)) if value else without(text, field.key)
    for parts in form.parts.values():
        text = _with_names(text, form, parts, typed)
    return _with_modes(text, form, typed)


def _with_names(text: str, form: Form, parts: tuple[Part, ...], typed: Mapping[str, str]) -> str:
    _check_apart([_clean(typed, part.name) or part.name.value for part in parts])
    for part in parts:
        old, new = part.name.value, _clean(typed, part.name)
        if new in ("", old):
            continue
        text = renamed(text, part.name.key, new)
        if part.name.key[0] == SURFACE:
            for key in _presets_of(form, old):
                text = renamed(text, key, new)
            if old in KINDS and not part.values["kind"]:
                text = with_value(text, (SURFACE, new, "kind"), old)
    return text


def _check_apart(names: Sequence[str]) -> None:
    """Raise `SheetError` if a name is there twice."""
    if twice := next((name for name in names if names.count(name) > 1), None):
        raise SheetError(f"found the name {twice!r} twice", "Give each its own")


def with_surface(text: str, name: str, kind: str) -> str:
    """The sheet with another surface at its end; of a name that is a kind, the kind is not written.

    Raises `SheetError`: it has no name, or that of another.
    """
    name = _new_name(name)
    _check_apart([name, *(part.name.value for part in form_of(text).parts[SURFACE])])
    return with_value(text, (SURFACE, name), {} if name == kind and kind in KINDS else {"kind": kind})


def _new_name(name: str) -> str:
    if not (name := " ".join(name.split())):
        raise SheetError("found no name for what is to be added", "Type a name beside the button")
    return name


def with_preset(text: str, mode: str, name: str) -> str:
    """The sheet with a preset in a mode, whose positions are still to be typed.

    Raises `SheetError`: it has no name, or that of another.
    """
    name = _new_name(name)
    _check_apart([name, *(other for column, other in form_of(text).presets.columns if column == mode)])
    return with_value(text, (PRESET, mode, name), {})


def without_surface(text: str, name: str) -> str:
    """The sheet without a surface, and without its positions in presets."""
    for key in _presets_of(form_of(text), name):
        text = without(text, key)
    return without(text, (SURFACE, name))


def _clean(typed: Mapping[str, str], field: Field) -> str:
    return " ".join(typed.get(field.name, field.value).split())


def _as_toml(field: Field, value: str) -> Any:
    return value.split(", ") if field.choices == SIDES and value in SIDES else value


def _presets_of(form: Form, surface: str) -> list[Key]:
    cells = (cell for row in form.presets.rows if row.surface == surface for cell in row.cells)
    return [field.key for cell in cells for field in cell if field.value]


def _with_modes(text: str, form: Form, typed: Mapping[str, str]) -> str:
    """Rename the modes wherever they stand, take out those that were emptied, and list the new one."""
    names = {field.value: _clean(typed, field) for field in form.modes}
    if all(old == new for old, new in names.items()):
        return text
    _check_apart([name for name in names.values() if name])
    tables = [key for key in _tables_of_modes(form_of(text)) if key[-1] in names]
    for key in tables:
        if not names[str(key[-1])]:
            text = without(text, key)
    changed = [(key, name) for key in tables if (name := names[str(key[-1])]) not in ("", key[-1])]
    for number, (key, _) in enumerate(changed):  # by way of a name that no mode has: two modes may change places
        text = renamed(text, key, _between(number))
    for number, (key, name) in enumerate(changed):
        text = renamed(text, (*key[:-1], _between(number)), name)
    return with_value(text, (MODES,), [name for name in names.values() if name])


def _between(number: int) -> str:
    return f"\N{HORIZONTAL ELLIPSIS}{number}"


def _tables_of_modes(form: Form) -> list[Key]:
    cells = (cell for row in form.throws.rows for cell in row.cells)
    travels = dict.fromkeys(field.key[:-1] for cell in cells for field in cell if field.value)
    return [*travels, *dict.fromkeys((PRESET, mode) for mode, _ in form.presets.columns)]


def with_value(text: str, key: Key, value: Any) -> str:
    """The sheet with a value at a key; tables that are missing are made as people write them, in one line if they can.

    Each way of writing it is tried until one reads back as meant.
    """
    meant = tomlkit.parse(text).unwrap()
    _set(meant, key, deepcopy(value))
    for write in (_replace, _in_one_line, _under_a_header):
        document = tomlkit.parse(text)
        try:
            write(document, key, value)
            written = document.as_string()
            if tomlkit.parse(written).unwrap() == meant:
                return written
        except (TOMLKitError, KeyError, TypeError, AttributeError):
            continue
    raise AssertionError(f"no way to write {key} into the sheet")


def _set(table: MutableMapping[Any, Any], key: Key, value: Any) -> None:
    for part in key[:-1]:
        if not isinstance(table.get(part), MutableMapping):
            table[part] = {}
        table = table[part]
    table[key[-1]] = value


def _replace(document: Any, key: Key, value: Any) -> None:
    table = document
    for part in key[:-1]:
        table = table[part]
    table[key[-1]] = _item(value)


def _in_one_line(document: Any, key: Key, value: Any) -> None:
    """`throws.low = { up = "13 mm" }` in the table of the surface."""
    if len(key) <= _OWN_TABLE + 2 or key[0] != SURFACE:
        raise KeyError(key)
    *dotted, last = key[_OWN_TABLE:]
    inner = tomlkit.inline_table()
    inner[str(last)] = _item(value)
    document[key[0]][key[1]].append(tomlkit.key([str(part) for part in dotted]), inner)


def _under_a_header(document: Any, key: Key, value: Any) -> None:
    table = document
    for part in key[:-1]:
        if not isinstance(table.get(part), MutableMapping):
            table[part] = tomlkit.table()
        table = table[part]
    table[key[-1]] = _item(value)


def _item(value: Any) -> Any:
    if isinstance(value, dict):
        table = tomlkit.table()
        table.update(value)
        return table
    return value


def without(text: str, key: Key) -> str:
    """The sheet without a key, and without the tables that are empty then; a surface stays."""
    document = tomlkit.parse(text)
    tables: list[Any] = [document]
    for part in key[:-1]:
        tables.append(tables[-1][part])
    del tables[-1][key[-1]]
    for depth in range(len(key) - 1, 0, -1):
        if tables[depth] or (key[0] == SURFACE and depth <= _OWN_TABLE):
            break
        del tables[depth - 1][key[depth - 1]]
    return document.as_string()
