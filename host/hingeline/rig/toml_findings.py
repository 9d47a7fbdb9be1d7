"""What is found in TOML files that people write, in words: what was seen at a key, what was expected, and the cure."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterable, Mapping
from difflib import get_close_matches
from types import UnionType
from typing import Any, NamedTuple, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from hingeline.rig.toml_lines import Key


class Finding(NamedTuple):
    """What was seen at a key, what was expected there (may be empty) and a cure, as parts of sentences."""

    key: Key
    seen: str
    expected: str
    cure: str


def brief(value: Any) -> str:
    """Return a value as a file has it, in printable characters and not too long for a message."""
    text = "".join(char if char.isprintable() else repr(char)[1:-1] for char in str(value))
    return text if len(text) <= 100 else f"{text[:60]}...{text[-37:]}"


def _literal(value: Any) -> str:
    return brief(json.dumps(value, ensure_ascii=False, default=str))


def dotted(key: Key) -> str:
    """Return a key as it is written in a header, entries of arrays counted from 1."""
    parts = (
        f"[{part + 1}]"
        if isinstance(part, int)
        else f".{part if re.fullmatch('[A-Za-z0-9_-]+', part) else _literal(part)}"
        for part in key
    )
    return "".join(parts).removeprefix(".")


def finding(detail: ErrorDetails, model: type[BaseModel], data: Any) -> Finding:
    """Return a validation error in the words of a finding."""
    key = _present(detail["loc"], data)
    table = _table(model, key[:-1])
    fields = {field.alias or own: field for own, field in table.model_fields.items()} if table else {}
    if detail["type"] == "extra_forbidden":
        cure = nearest(str(key[-1]), fields) or "Take it out"
        return Finding(key, "no such key", one_of(fields), cure)
    field = fields.get(str(key[-1])) if key else None
    instead = [_literal(one) for one in _instead(detail, key, field)]
    name = f"{dotted(key[-1:])} = " if key and isinstance(key[-1], str) else ""
    written = f"{name}{one_of(instead)}" if instead else None
    if detail["type"] == "missing":
        return Finding(key, "missing", (field and field.description) or "", f"Add {written or 'it'}")
    cure = f"Write {written}" if written else "Correct it"
    if detail["type"] == "value_error":
        return Finding(key, detail["msg"].removeprefix("Value error, "), "", cure)
    told = detail["msg"].removeprefix("Input should ").removeprefix("be ")
    expected = _EXPECTED.get(detail["type"], told)
    return Finding(key, f"found {_literal(detail['input'])}", expected, cure)


def _instead(detail: ErrorDetails, key: Key, field: FieldInfo | None) -> list[Any]:
    """Return what to write: of known words that most like what is there, else all; with none known, an example.

    Where a word is missing, what is there is the name of its table.
    """
    context = detail.get("ctx", {})
    if "instead" in context:
        return list(context["instead"])
    found, words = str(detail["input"]), re.findall("'([^']+)'", str(context.get("expected")))
    if field and detail["type"] == "missing":
        found = "".join(map(str, key[-2:-1]))
        words = [one for one in get_args(field.annotation) if isinstance(one, str)]
    return get_close_matches(found, words, n=1, cutoff=0.7) or words or ((field and field.examples) or [])[:1]


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


def one_of(words: Collection[str]) -> str:
    """Return words as an expectation."""
    *firsts, last = words or ("",)
    return f"{', '.join(firsts)} or {last}" if firsts else last


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the advice to write the known word that is most like this one, if one is."""
    matches = get_close_matches(word, list(known), n=1)
    return f"Write {matches[0]}" if matches else None


def _present(location: Key, data: Any) -> Key:
    """Return the location without what the file does not have: names of union members, marks of keys."""
    key: Key = ()
    for depth, part in enumerate(location):
        inside = (isinstance(data, Mapping) and part in data) or (
            isinstance(data, list) and isinstance(part, int) and part < len(data)
        )
        if inside:
            data = data[part]
        elif depth < len(location) - 1 or part == "[key]":
            continue
        key += (part,)
    return key


def _table(model: type[BaseModel], key: Key) -> type[BaseModel] | None:
    """Return the model of the table at `key`, if one model describes it."""
    annotation: Any = model
    for part in key:
        table = _model_in(annotation)
        if table is None:
            members = [member for member in get_args(annotation) if member is not Ellipsis]
            annotation = members[-1] if members else None
        else:
            annotation = next(
                (f.annotation for own, f in table.model_fields.items() if (f.alias or own) == part), None
            )
    return _model_in(annotation)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """Return the model that an annotation is, alone or or-ed with None."""
    members = get_args(annotation) if get_origin(annotation) in (Union, UnionType) else (annotation,)
    models = [member for member in members if isinstance(member, type) and issubclass(member, BaseModel)]
    return models[0] if len(models) == 1 else None
