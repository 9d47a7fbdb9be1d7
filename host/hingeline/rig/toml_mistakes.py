"""Mistakes at keys of a TOML file: on which line, and in words the content, what was expected, and the cure."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Iterator
from difflib import get_close_matches
from types import UnionType
from typing import Any, NamedTuple, Union, get_args, get_origin

import tomlkit
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

Key = tuple[str | int, ...]
"""The way to a value: names of tables and keys, and the index of a table in an array of tables."""

NAME = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_DOTTED = rf"{NAME}(?:[ \t]*\.[ \t]*{NAME})*"
HEADER = re.compile(rf"[ \t]*(\[\[?)[ \t]*({_DOTTED})[ \t]*\]")
ASSIGNMENT = re.compile(rf"[ \t]*({_DOTTED})[ \t]*=")
"""A line that begins a table, `[` or `[[` and its key, and one that sets a key."""
STRING = r""""(?:\\.|[^"\\\n])*"|'[^'\n]*'"""
_LONG_STRING = r'"{3}(?:\\.|[^\\])*?"{3,5}|' r"'{3}.*?'{3,5}"
_OPAQUE = re.compile(rf"(?P<gone>{_LONG_STRING}|#[^\n]*)|{STRING}", re.DOTALL)


class KeyLines(dict[Key, int]):
    """The lines, from 1, of the tables and keys of a TOML text that has been parsed without an error.

    Keys inside an inline table or an array stand on the line where that begins; a key that is not there, on the line
    of the nearest table around it; a table without a header of its own, where the first of its keys does.
    """

    def __init__(self, text: str) -> None:
        super().__init__({(): 1})
        entries: dict[Key, int] = {}  # of each array of tables the index of its last entry
        table: Key = ()
        for number, line in statements(text):
            if header := HEADER.match(line):
                table = ()
                *parents, last = split_key(header[2])
                for name in (*parents, last):
                    table += (name,)
                    if name is last and header[1] == "[[":
                        entries[table] = entries.get(table, -1) + 1
                    table += (entries[table],) if table in entries else ()
                key = table
            elif assignment := ASSIGNMENT.match(line):
                key = table + split_key(assignment[1])
            else:
                continue
            self[key] = number
            for depth in range(len(key)):
                self.setdefault(key[:depth], number)

    def __missing__(self, key: Key) -> int:
        return self[key[:-1]]


def statements(text: str) -> Iterator[tuple[int, str]]:
    """Yield, numbered, the lines that may begin with a header or a key: those outside arrays and strings.

    Of comments and long strings the line ends alone are left: what looks like a key in them is none.
    """
    kept = _OPAQUE.sub(lambda part: "\n" * part[0].count("\n") if part["gone"] else part[0], text)
    depth = 0
    for number, line in enumerate(kept.split("\n"), start=1):
        if depth == 0:
            yield number, line
        bare = re.sub(STRING, "", line)
        depth += len(re.findall(r"[\[{]", bare)) - len(re.findall(r"[\]}]", bare))


def split_key(dotted: str) -> tuple[str, ...]:
    """Split a dotted key into its names, without quotes; raises `ValueError` if it is no key of TOML."""
    if not re.fullmatch(_DOTTED, dotted):
        raise ValueError(f"{dotted!r} is no key")
    names = re.findall(NAME, dotted)
    return tuple(next(iter(tomlkit.parse(f"{name} = 0"))) if name[0] in "\"'" else name for name in names)


class KeyMistake(NamedTuple):
    """The content of a key, what was expected there (may be empty) and a cure, as parts of sentences."""

    key: Key
    content: str
    expected: str
    cure: str


UNKNOWN_KEY = "no such key"

_EXPECTED = {
    "string_type": "text in quotes",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "bool_type": "true or false",
    "tuple_type": "a list in [ ]",
    "list_type": "a list in [ ]",
    "dict_type": "a table",
    "model_type": "a table",
    "too_short": "at least one entry",
}
"""The validation errors whose own message speaks of Python."""


def brief(value: Any) -> str:
    """Write a value as a file has it, in printable characters and not too long for a message."""
    text = "".join(char if char.isprintable() else repr(char)[1:-1] for char in str(value))
    return text if len(text) <= 100 else f"{text[:60]}...{text[-37:]}"


def _literal(value: Any) -> str:
    return brief(json.dumps(value, ensure_ascii=False, default=str))


def dotted(key: Key) -> str:
    """Write a key as in a header, entries of arrays counted from 1."""
    plain = re.compile("[A-Za-z0-9_-]+")
    parts = (
        f"[{part + 1}]" if isinstance(part, int) else f".{part if plain.fullmatch(part) else _literal(part)}"
        for part in key
    )
    return "".join(parts).removeprefix(".")


def one_of(words: Collection[str]) -> str:
    """Join words as an expectation: `a, b or c`."""
    *firsts, last = words or ("",)
    return f"{', '.join(firsts)} or {last}" if firsts else last


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Advise to write the known word that is most like this one, if one is."""
    matches = get_close_matches(word, list(known), n=1)
    return f"Write {matches[0]}" if matches else None


def mistake_of(detail: ErrorDetails, model: type[BaseModel], data: Any) -> KeyMistake:
    """Put a validation error into words."""
    key, fields = _locate(detail["loc"], model, data)
    if detail["type"] == "extra_forbidden":
        return KeyMistake(key, UNKNOWN_KEY, one_of(fields), nearest(str(key[-1]), fields) or "Take it out")
    name = "" if not key or isinstance(key[-1], int) else key[-1]
    field = fields.get(name)
    values = [_literal(value) for value in _alternatives(detail, key, field)]
    text = f"{name and f'{dotted((name,))} = '}{one_of(values)}" if values else None
    if detail["type"] == "missing":
        return KeyMistake(key, "missing", (field and field.description) or "", f"Add {text or 'it'}")
    cure = f"Write {text}" if text else "Correct it"
    if detail["type"] == "value_error":
        return KeyMistake(key, detail["msg"].removeprefix("Value error, "), "", cure)
    expected = detail["msg"].removeprefix("Input should ").removeprefix("be ")
    return KeyMistake(key, f"found {_literal(detail['input'])}", _EXPECTED.get(detail["type"], expected), cure)


def _alternatives(detail: ErrorDetails, key: Key, field: FieldInfo | None) -> list[Any]:
    """List what to write: of known words that most like what is there, else all; with none known, an example.

    Where a word is missing, what is there is the name of its table.
    """
    context = detail.get("ctx", {})
    if "instead" in context:
        return list(context["instead"])
    word, words = str(detail["input"]), re.findall("'([^']+)'", str(context.get("expected")))
    if field and detail["type"] == "missing":
        word = "".join(map(str, key[-2:-1]))
        words = [known for known in get_args(field.annotation) if isinstance(known, str)]
    return get_close_matches(word, words, n=1, cutoff=0.7) or words or ((field and field.examples) or [])[:1]


def _locate(location: Key, model: type[BaseModel], data: Any) -> tuple[Key, dict[str, FieldInfo]]:
    """Find the key that an error is at, and the fields of its table; none if no single model describes that table.

    What the file does not have is left out of a location: names of union members, marks of keys.
    """
    key: Key = ()
    fields: dict[str, FieldInfo] = {}
    annotation: Any = model
    for depth, part in enumerate(location, start=1):
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            if depth < len(location) or part == "[key]":
                continue
        key += (part,)
        table = model_in(annotation)
        fields = keys_of(table) if table else {}
        if table:
            annotation = fields[str(part)].annotation if part in fields else None
        else:  # a table or a list of entries: all have the type that stands last
            annotation = next((kind for kind in reversed(get_args(annotation)) if kind is not Ellipsis), None)
    return key, fields


def keys_of(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """The fields of a table by their keys in the file."""
    return {field.alias or name: field for name, field in model.model_fields.items()}


def model_in(annotation: Any) -> type[BaseModel] | None:
    """The model that an annotation is, alone or or-ed with None."""
    members = get_args(annotation) if get_origin(annotation) in (Union, UnionType) else (annotation,)
    models = [member for member in members if isinstance(member, type) and issubclass(member, BaseModel)]
    return models[0] if len(models) == 1 else None
