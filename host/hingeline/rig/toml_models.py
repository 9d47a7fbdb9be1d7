"""TOML files that people write, read into pydantic models; errors tell file, line, key, fault and cure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, TypeVar, get_args

import tomlkit
from pydantic import BaseModel, ConfigDict, ValidationError
from tomlkit.exceptions import InvalidControlChar, ParseError, TOMLKitError

from hingeline import __version__
from hingeline.errors import FileToMend, Misfit, in_words
from hingeline.rig.toml_findings import Finding, brief, dotted, finding
from hingeline.rig.toml_lines import STRING, Key, KeyLines

MOST_BYTES = 200_000
"""No file of a person is longer; whoever sends a longer one must not keep this computer busy."""


class TomlModel(BaseModel):
    """A frozen table of a file; a key that is not in it is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


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
"""By a table that it can't do without: what a file is, and the command that takes it."""


def load(
    path: Path,
    model: type[Model],
    error: type[FileToMend],
    contradictions: Callable[[Model], Iterable[Finding]] = lambda _: (),
) -> Model:
    """Return the file at `path` as a `model`.

    Parameters
    ----------
    contradictions
        Yields what is wrong between keys that are each right.

    Raises
    ------
    error
        The file can't be read, is no TOML, or does not fit the model; all misfits at once, a line each.
    """
    return parse(read_text(path, error), str(path), model, error, contradictions)


def read_text(path: Path, error: type[FileToMend]) -> str:
    """Return the text of a file, its line ends as they are. Raises as `load`."""
    try:
        with open(path, "rb") as file:
            content = file.read(MOST_BYTES + 1)
        if len(content) > MOST_BYTES:
            raise error(f"{brief(path)} is longer than {MOST_BYTES} bytes", "Give the file that you wrote")
        return content.decode("utf-8-sig")
    except OSError as problem:
        raise error(
            f"{brief(path)} can't be read: {in_words(problem)}", "Give the path of a file that you may read"
        ) from problem
    except UnicodeDecodeError as problem:
        line = problem.object.count(b"\n", 0, problem.start) + 1
        raise error(f"{brief(path)}:{line}: not UTF-8 text", "Save the file as UTF-8") from problem


def parse(
    text: str,
    name: str,
    model: type[Model],
    error: type[FileToMend],
    contradictions: Callable[[Model], Iterable[Finding]] = lambda _: (),
) -> Model:
    """Return TOML text as a `model`; `name` stands for the file in messages. Raises as `load`."""
    data = parse_document(text, name, error).unwrap()
    if other := _of_another_kind(data, name, model):
        raise error(*other)
    if huge := [Finding(key, "a number beyond 64 bits", "", "Write it shorter") for key in _huge(data)]:
        raise _to_mend(name, text, huge, error)
    if newer := _newer(data, model):
        raise _to_mend(name, text, [newer], error)
    try:
        value = model.model_validate(data)
    except ValidationError as problem:
        findings = [finding(detail, model, data) for detail in problem.errors(include_url=False)]
        raise _to_mend(name, text, findings, error) from problem
    if findings := list(contradictions(value)):
        raise _to_mend(name, text, findings, error)
    return value


def parse_document(text: str, name: str, error: type[FileToMend]) -> tomlkit.TOMLDocument:
    """Return TOML text as a document that keeps its layout. Raises as `load`."""
    try:
        return tomlkit.parse(text)
    except TOMLKitError as problem:
        line = _line(problem, text) if isinstance(problem, ParseError) else 1
        told = _quotation_marks(text.split("\n")[line - 1]) or _no_toml(problem)
    misfit = Misfit(line, "", *told)
    raise error(_told(name, misfit), misfit.cure, (misfit,))


def _line(problem: ParseError, text: str) -> int:
    """Return the line of TOML that a problem is in: tomlkit takes other characters for line ends too."""
    before = text.splitlines(keepends=True)[: problem.line - 1]
    return text.count("\n", 0, sum(map(len, before)) + problem.col) + 1


def _quotation_marks(line: str) -> tuple[str, str, str] | None:
    """Return seen, expected and cure where a mark or a bare text is left of a line without its texts and comment."""
    rest = re.sub(r"#.*|^\s*\[.*", "", re.sub(STRING, ";", line))
    listed = (one for array in _ARRAY.findall(rest) for one in array.split(",") if ";" not in one)
    bare = (one.strip() for one in (*_VALUE.findall(rest), *listed))
    if not re.search(f"[\"'{_CURLY}]", rest) and all(map(_PLAIN.fullmatch, bare)):
        return None
    if re.search(f"[{_CURLY}]", line):
        return "curly quotation marks", "straight quotation marks", 'Write " for each of them'
    return (
        "a quotation mark is missing",
        "each text between two of them",
        "Put one at each end of every text in this line, figures with a unit too",
    )


def _no_toml(problem: TOMLKitError) -> tuple[str, str, str]:
    if isinstance(problem, InvalidControlChar):
        return "a character that can't be seen", "TOML", "Write the text in this line anew"
    reason = str(problem).split(" at line")[0].rstrip(".")
    return brief(reason), "TOML", "Mend the TOML of this line"


def _of_another_kind(data: Mapping[str, Any], name: str, model: type[BaseModel]) -> tuple[str, str] | None:
    """Return message and cure for a file that has no key of `model` and the main one of another kind."""
    keys = {field.alias or own for own, field in model.model_fields.items()}
    found = next((told for key, told in _KINDS.items() if key in data), None)
    wanted = next((told for key, told in _KINDS.items() if key in keys), None)
    if not found or not wanted or keys & data.keys():
        return None
    cure = f"Give {wanted[0]}, or run `{found[1]} {brief(name)}`"
    return f"{brief(name)} is {found[0]}, not {wanted[0]}", cure


def _to_mend(name: str, text: str, findings: list[Finding], error: type[FileToMend]) -> FileToMend:
    lines = KeyLines(text)
    misfits = tuple(sorted(Misfit(lines[key], dotted(key), *rest) for key, *rest in findings))
    if len(misfits) == 1:
        return error(_told(name, misfits[0]), misfits[0].cure, misfits)
    each = (f"{_told(name, misfit)}. {misfit.cure}." for misfit in misfits)
    return error("\n".join(each), f"Mend these {len(misfits)} keys", misfits)


def _told(name: str, misfit: Misfit) -> str:
    key = f" {misfit.key}:" if misfit.key else ""
    expected = f", expected {misfit.expected}" if misfit.expected else ""
    return f"{brief(name)}:{misfit.line}:{key} {misfit.seen}{expected}"


def _huge(value: Any, key: Key = ()) -> Iterator[Key]:
    """Yield the keys of whole numbers that are none of TOML 1.0, of 64 bits, and that Python may refuse to write."""
    if isinstance(value, dict | list):
        for part, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _huge(inner, (*key, part))
    elif isinstance(value, int) and not -(2**63) <= value < 2**63:
        yield key


def _newer(data: dict[str, Any], model: type[BaseModel]) -> Finding | None:
    """Return what to say of a file of a later format than this hingeline knows: of its other keys nothing is known."""
    field = model.model_fields.get("schema_version")
    known, version = get_args(field.annotation) if field else (), data.get("schema_version")
    if not known or type(version) is not int or version <= max(known):
        return None
    seen = f"{version}, and this hingeline {__version__} knows up to {max(known)}"
    return Finding(
        ("schema_version",), seen, "", "Bring hingeline up to date: `pip install --upgrade hingeline`"
    )
