"""The rigging sheet as a form: its fields, laid out as the throw table of a manual, from the text alone.

The models of the sheet tell which keys there are and what they mean: no second list of them stands here.
"""

from __future__ import annotations

import json
import typing
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple, get_args, get_origin

from hingeline.errors import SheetError
from hingeline.rig.kinds import BOTH, KINDS, ONE_PIECE, Kind
from hingeline.rig.sheet import Sheet
from hingeline.rig.surface import Surface, Travel
from hingeline.rig.toml_mistakes import Key, dotted, keys_of, model_in
from hingeline.rig.toml_models import TomlModel, parse_document

SURFACE, MODES, PRESET = "surface", "modes", "preset"
SIDES = tuple(", ".join(sides) for sides in (BOTH, ONE_PIECE, ("left",), ("right",)))
"""What a sheet may say of the parts that are measured."""


class Field(NamedTuple):
    """One value to type: its `key`, what it is called and means, an `example`, and its `value` as it was typed.

    Where there are `choices`, it is one of them or empty.
    """

    key: Key
    label: str
    meaning: str = ""
    example: str = ""
    value: str = ""
    choices: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What the field is called in what the browser sends."""
        return json.dumps(self.key, ensure_ascii=False)

    @property
    def at(self) -> str:
        """The key as a person writes it."""
        return dotted(self.key)


class Group(NamedTuple):
    """The plain keys of one table."""

    title: str
    meaning: str
    fields: tuple[Field, ...]


class Row(NamedTuple):
    """A line of a grid: of a surface, in one of its functions, and the fields of each column."""

    surface: str
    function: str
    cells: tuple[tuple[Field, ...], ...]


class Grid(NamedTuple):
    """Surfaces down; modes, or presets with their mode, across."""

    columns: tuple[tuple[str, ...], ...]
    rows: tuple[Row, ...]


class Part(NamedTuple):
    """A table that the person has named, such as a surface: its name, and what it holds."""

    name: Field
    groups: tuple[Group, ...]

    @property
    def values(self) -> dict[str, str]:
        """The plain keys of the table itself, as they were typed."""
        return {str(field.key[-1]): field.value for field in self.groups[0].fields}


class Form(NamedTuple):
    """A whole sheet. `parts` are the tables that a person has named, by the key that they stand under."""

    groups: tuple[Group, ...]
    modes: tuple[Field, ...]
    throws: Grid
    presets: Grid
    parts: dict[str, tuple[Part, ...]]

    def fields(self) -> Iterator[Field]:
        """Every field of a value: those of names are none."""
        parts = [part for several in self.parts.values() for part in several]
        for group in (*self.groups, *(group for part in parts for group in part.groups)):
            yield from group.fields
        for grid in (self.throws, self.presets):
            for row in grid.rows:
                for cell in row.cells:
                    yield from cell

    def names(self) -> Iterator[Field]:
        """Every field of a name: of the modes, and of the tables that a person has named."""
        yield from self.modes
        for parts in self.parts.values():
            yield from (part.name for part in parts)


def form_of(text: str) -> Form:
    """Lay out a sheet, right or wrong. Raises `SheetError` where its text is no TOML."""
    data = parse_document(text, "the sheet", SheetError).unwrap()
    groups = _groups(Sheet, (), "sheet", "", data)
    listed = data.get(MODES)
    modes = tuple(map(str, listed)) if isinstance(listed, list) else ()
    named = tuple(Field((MODES, index), f"mode {index + 1}", value=mode) for index, mode in enumerate((*modes, "")))
    return Form(groups, named, _throws(data, modes), _presets(data), dict(_parts(data)))


def _table(value: Any, name: Any) -> dict[str, Any]:
    """The table of that name in a table; an empty one where there is none."""
    inner = value.get(name) if isinstance(value, Mapping) else None
    return dict(inner) if isinstance(inner, Mapping) else {}


def _written(value: Any) -> str:
    """A value as it is typed: of a text the text, of a list its entries."""
    if isinstance(value, list) and all(isinstance(entry, str) for entry in value):
        return ", ".join(value)
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)


def _choices(annotation: Any) -> tuple[str, ...]:
    """The words that a key may be, if they are given."""
    if get_origin(annotation) is typing.Literal:
        return tuple(word for word in get_args(annotation) if isinstance(word, str))
    return next(filter(None, map(_choices, get_args(annotation))), ())


def _groups(model: type[TomlModel], key: Key, title: str, meaning: str, table: Mapping[str, Any]) -> tuple[Group, ...]:
    """The plain keys of a table, then those of each table in it that has a place of its own."""
    fields: list[Field] = []
    inner: list[Group] = []
    for name, info in keys_of(model).items():
        nested = model_in(info.annotation)
        described = info.description or ""
        if nested is not None and issubclass(nested, TomlModel):
            inner += _groups(nested, (*key, name), name.replace("_", " "), described, _table(table, name))
        elif get_origin(info.annotation) is not dict and name not in (MODES, "schema_version"):
            choices = SIDES if name == "sides" else _choices(info.annotation)
            example = _written(info.examples[0]) if info.examples else ""
            value = _written(table[name]) if name in table else ""
            fields.append(Field((*key, name), name.replace("_", " "), described, example, value, choices))
    return Group(title, meaning, tuple(fields)), *inner


def _parts(data: Mapping[str, Any]) -> Iterator[tuple[str, tuple[Part, ...]]]:
    """Yield the tables of the sheet that a person has named, by the key that they stand under."""
    for key, info in keys_of(Sheet).items():
        model = get_args(info.annotation)[-1] if get_origin(info.annotation) is dict else None
        if isinstance(model, type) and issubclass(model, TomlModel):
            yield (
                key,
                tuple(
                    Part(
                        Field((key, name), "name", value=name),
                        _groups(model, (key, name), name, "", _table(_table(data, key), name)),
                    )
                    for name in _table(data, key)
                ),
            )


def _throws(data: Mapping[str, Any], modes: tuple[str, ...]) -> Grid:
    rows = []
    surfaces = _table(data, SURFACE)
    uses = {
        name: [table for table, info in keys_of(Surface).items() if _holds_travels(info.annotation)]
        for name in surfaces
    }
    shown = list(modes)
    for name, tables in uses.items():
        for table in tables:
            shown += [mode for mode in _table(_table(surfaces, name), table) if mode not in shown]
    for name, tables in uses.items():
        surface = _table(surfaces, name)
        kind = KINDS.get(str(surface.get("kind", name)), Kind())
        for table in tables:
            if table in kind.tables or table in surface:
                travels = _table(surface, table)
                cells = (_ways((SURFACE, name, table, mode), kind, _table(travels, mode)) for mode in shown)
                rows.append(Row(name, table.removeprefix("throws").replace("_", " "), tuple(cells)))
    return Grid(tuple((mode,) for mode in shown), tuple(rows))


def _holds_travels(annotation: Any) -> bool:
    return get_origin(annotation) is dict and get_args(annotation)[-1] is Travel


def _ways(key: Key, kind: Kind, travel: Mapping[str, Any]) -> tuple[Field, ...]:
    """The ways that a surface goes in a mode: those of its kind, and what stands there besides."""
    usual = {*kind.directions, *(["differential"] if kind.directions == ("up", "down") else [])}
    return tuple(
        Field((*key, way), way, info.description or "", str(info.examples[0]), _written(travel.get(way, "")))
        for way, info in keys_of(Travel).items()
        if info.examples and (way in usual or way in travel)
    )


def _presets(data: Mapping[str, Any]) -> Grid:
    presets = _table(data, PRESET)
    columns = tuple((mode, name) for mode in presets for name in _table(presets, mode))
    cells = {column: _table(_table(presets, column[0]), column[1]) for column in columns}
    surfaces = dict.fromkeys([*_table(data, SURFACE), *(name for positions in cells.values() for name in positions)])
    rows = (
        Row(
            surface,
            "",
            tuple(
                (
                    Field(
                        (PRESET, *column, surface),
                        "",
                        "",
                        "3 mm down",
                        _written(cells[column].get(surface, "")),
                    ),
                )
                for column in columns
            ),
        )
        for surface in surfaces
    )
    return Grid(columns, tuple(rows) if columns else ())
