"""TOML files that people write, read into pydantic models; an error names file, line, key, fault and cure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, TypeVar, get_args

import tomlkit
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from tomlkit.exceptions import InvalidControlChar, ParseError, TOMLKitError

from hingeline import __version__
from hingeline.errors import FileError, Mistake, in_words
from hingeline.files.whole import Unfit, read_ordinary
from hingeline.rig.toml_mistakes import STRING, Key, KeyLines, KeyMistake, brief, dotted, keys_of, mistake_of

MOST_BYTES = 200_000
"""No file that a person writes is longer; a longer one must not keep this computer busy."""


class TomlModel(BaseModel):
    """A frozen table of a file; a key that is not in it is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


def key(description: str, example: Any = None, default: Any = ..., **more: Any) -> Any:
    """Describe a key of a table, for the reference and for errors; without a default it is needed."""
    return Field(default, description=description, examples=None if example is None else [example], **more)


Model = TypeVar("Model", bound=BaseModel)

_CURLY = "“”„‟‘’‚‛«»"
_ARRAY = re.compile(r"\[([^\[\]{}]*)\]")
_VALUE = re.compile(r"=((?:[^=,\[\]{};]|(?<=\d),(?=\d))+)(?=[,}]|$)")
_PLAIN = re.compile(r"(?i)[-+.\d\s_]*|[-+]?(\d[\d_.]*e[-+]?\d+|0[xob]\w+|inf|nan)|true|false")
"""Arrays and other values once ";" stands for each text, and what a bare one may be."""
_KINDS = {
    "surface": ("a rigging sheet", "hingeline rig check"),
    "boards": ("a scenario of the virtual bench", "hingeline virtual"),
}
"""By the table that a kind of file must have: its name, and the command that takes it."""


def read_text(path: Path, error: type[FileError]) -> str:
    """Read the text of a file, its line ends as they are. Raises `error` if that fails."""
    try:
        return read_ordinary(path, MOST_BYTES).decode("utf-8-sig")
    except OSError as problem:
        cure = f"Name {'the file that you wrote' if isinstance(problem, Unfit) else 'a file that you may read'}"
        raise error(f"{brief(path)} can't be read: {in_words(problem)}", cure) from problem
    except UnicodeDecodeError as problem:
        line = problem.object.count(b"\n", 0, problem.start) + 1
        raise error(f"{brief(path)}:{line}: not UTF-8 text", "Save the file as UTF-8") from problem


def parse(
    text: str,
    name: str,
    model: type[Model],
    error: type[FileError],
    contradictions: Callable[[Model], Iterable[KeyMistake]] = lambda _: (),
) -> Model:
    """Read TOML text into a `model`; `name` stands for the file in messages.

    `contradictions` yields what is wrong between keys that are each right. Raises `error` if the text is no TOML or
    does not fit the model: all mistakes at once, a line each.
    """
    data = parse_document(text, name, error).unwrap()
    if other_kind := _name_other_kind(data, name, model):
        raise error(*other_kind)
    try:
        if not (mistakes := [*_huge(data)] or [*_newer(data, model)]):
            value = model.model_validate(data)
            mistakes = [*contradictions(value)]
    except ValidationError as invalid:
        mistakes = [mistake_of(detail, model, data) for detail in invalid.errors(include_url=False)]
    if not mistakes:
        return value
    lines = KeyLines(text)
    located = tuple(sorted(Mistake(lines[key], dotted(key), *rest) for key, *rest in mistakes))
    if len(located) == 1:
        raise error(_sentence(name, located[0]), located[0].cure, located)
    each = (f"{_sentence(name, mistake)}. {mistake.cure}." for mistake in located)
    raise error("\n".join(each), f"Fix these {len(located)} settings", located)


def parse_document(text: str, name: str, error: type[FileError]) -> tomlkit.TOMLDocument:
    """Read TOML text into a document that keeps its layout. Raises `error` if it is no TOML."""
    try:
        return tomlkit.parse(text)
    except TOMLKitError as problem:
        line = _line(problem, text) if isinstance(problem, ParseError) else 1
        mistake = Mistake(line, "", *(_check_quotes(text.split("\n")[line - 1]) or _explain(problem)))
    raise error(_sentence(name, mistake), mistake.cure, (mistake,))


def _line(problem: ParseError, text: str) -> int:
    """On which line of TOML a problem is: tomlkit takes other characters for line ends too."""
    before = text.splitlines(keepends=True)[: problem.line - 1]
    return text.count("\n", 0, sum(map(len, before)) + problem.col) + 1


def _check_quotes(line: str) -> tuple[str, str, str] | None:
    """Explain a line with a stray quotation mark or a text without any; None if its quotes are right."""
    rest = re.sub(r"#.*|^\s*\[.*", "", re.sub(STRING, ";", line))
    listed = (value for array in _ARRAY.findall(rest) for value in array.split(",") if ";" not in value)
    bare = (value.strip() for value in (*_VALUE.findall(rest), *listed))
    if not re.search(f"[\"'{_CURLY}]", rest) and all(map(_PLAIN.fullmatch, bare)):
        return None
    if re.search(f"[{_CURLY}]", line):
        return "curly quotation marks", "straight quotation marks", 'Write " for each of them'
    cure = "Put one at each end of every text in this line, figures with a unit too"
    return "a quotation mark is missing", "each text between two of them", cure


def _explain(problem: TOMLKitError) -> tuple[str, str, str]:
    if isinstance(problem, InvalidControlChar):
        return "a character that can't be seen", "TOML", "Write the text in this line again"
    return brief(str(problem).split(" at line")[0].rstrip(".")), "TOML", "Fix the TOML in this line"


def _name_other_kind(data: Mapping[str, Any], name: str, model: type[BaseModel]) -> tuple[str, str] | None:
    """Message and cure for a file that has no key of `model`, but the main table of another kind of file."""
    keys = keys_of(model).keys()
    kind = next((_KINDS[table] for table in _KINDS if table in data), None)
    wanted = next((_KINDS[table] for table in _KINDS if table in keys), None)
    if not kind or not wanted or keys & data.keys():
        return None
    cure = f"Give {wanted[0]}, or run `{kind[1]} {brief(name)}`"
    return f"{brief(name)} is {kind[0]}, not {wanted[0]}", cure


def _sentence(name: str, mistake: Mistake) -> str:
    key = f" {mistake.key}:" if mistake.key else ""
    expected = f", expected {mistake.expected}" if mistake.expected else ""
    return f"{brief(name)}:{mistake.line}:{key} {mistake.content}{expected}"


def _huge(value: Any, key: Key = ()) -> Iterator[KeyMistake]:
    """Yield whole numbers beyond the 64 bits of TOML 1.0, which Python may refuse to write."""
    if isinstance(value, dict | list):
        for part, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _huge(inner, (*key, part))
    elif isinstance(value, int) and not -(2**63) <= value < 2**63:
        yield KeyMistake(key, "a number beyond 64 bits", "", "Write it shorter")


def _newer(data: dict[str, Any], model: type[BaseModel]) -> Iterator[KeyMistake]:
    """Yield the one mistake of a file of a later format: the meaning of its other keys is unknown."""
    field = model.model_fields.get("schema_version")
    known, version = get_args(field.annotation) if field else (), data.get("schema_version")
    if known and type(version) is int and version > max(known):
        text = f"{version}, and this hingeline {__version__} knows up to {max(known)}"
        cure = "Bring hingeline up to date: `pip install --upgrade hingeline`"
        yield KeyMistake(("schema_version",), text, "", cure)
