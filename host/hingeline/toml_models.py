"""TOML files that people write, read into pydantic models: every error with file, line, key, found and expected."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, TypeVar

import tomlkit
from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails
from tomlkit.exceptions import ParseError, TOMLKitError

from hingeline.errors import HingelineError

Key = tuple[str | int, ...]


class TomlModel(BaseModel):
    """A frozen table of a file; a key that is not in it is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


Model = TypeVar("Model", bound=BaseModel)


def load(path: Path, model: type[Model], error: type[HingelineError]) -> Model:
    """Return the file at `path` as a `model`.

    Raises
    ------
    error
        The file can't be read, is no TOML, or does not fit the model; all misfits are in one message, a line each.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as problem:
        raise error(f"{path}: {problem.strerror}", "Give the path of a file that you may read") from problem
    except UnicodeDecodeError as problem:
        raise error(f"{path}: not UTF-8 text", "Save the file as UTF-8") from problem
    return parse(text, str(path), model, error)


def parse(text: str, name: str, model: type[Model], error: type[HingelineError]) -> Model:
    """Return TOML text as a `model`; `name` stands for the file in messages. Raises as `load`."""
    try:
        data = tomlkit.parse(text).unwrap()
    except ParseError as problem:
        reason = str(problem).split(" at line")[0]
        raise error(f"{name}:{problem.line}: {reason}", "Mend the TOML of this line") from problem
    except TOMLKitError as problem:
        raise error(f"{name}: {problem}", "Mend the TOML of this key") from problem
    try:
        return model.model_validate(data)
    except ValidationError as problem:
        lines = key_lines(text)
        told = [_describe(name, lines, data, detail) for detail in problem.errors(include_url=False)]
        cure = "Mend this key" if len(told) == 1 else f"Mend these {len(told)} keys"
        raise error("\n".join(told), cure) from problem


_HEADER = re.compile(r"\s*(\[\[?)\s*([^\[\]#]+?)\s*\]\]?\s*(#.*)?$")
_ASSIGNMENT = re.compile(
    r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*="""
)
_PART = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")


def key_lines(text: str) -> dict[Key, int]:
    """Return the line number, from 1, of every table header and every key that begins a line."""
    lines: dict[Key, int] = {(): 1}
    counts: dict[Key, int] = {}
    table: Key = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = ()
            names = _names(header[2])
            for depth, part in enumerate(names):
                table += (part,)
                if depth == len(names) - 1 and header[1] == "[[":
                    counts[table] = counts.get(table, -1) + 1
                if table in counts:
                    table += (counts[table],)
            lines.setdefault(table, number)
        elif assignment := _ASSIGNMENT.match(line):
            lines.setdefault(table + _names(assignment[1]), number)
    return lines


def _names(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip("\"'") for part in _PART.findall(dotted))


def _describe(name: str, lines: dict[Key, int], data: Any, detail: ErrorDetails) -> str:
    key = _present(detail["loc"], data)
    line = next(lines[key[:n]] for n in range(len(key), -1, -1) if key[:n] in lines)
    shown = "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in key).lstrip(".")
    return f"{name}:{line}: {shown or 'the file'}: {_expectation(detail)}"


def _present(location: Key, data: Any) -> Key:
    """Return the location without the names of union members, which the file does not have."""
    key: Key = ()
    for depth, part in enumerate(location):
        inside = (isinstance(data, dict) and part in data) or (
            isinstance(data, list) and isinstance(part, int) and part < len(data)
        )
        if inside:
            data = data[part]
        elif depth < len(location) - 1:
            continue
        key += (part,)
    return key


def _expectation(detail: ErrorDetails) -> str:
    kind = detail["type"]
    if kind == "missing":
        return "missing; this key is needed"
    if kind == "extra_forbidden":
        return "there is no such key"
    if kind == "value_error":
        return detail["msg"].removeprefix("Value error, ")
    return f"found {_brief(detail['input'])}; it {detail['msg'].removeprefix('Input ')}"


def _brief(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
