"""On which line of a TOML text a key stands; the parsed document does not keep that."""

from __future__ import annotations

import re
from collections.abc import Iterator

import tomlkit

Key = tuple[str | int, ...]
"""The way to a value: names of tables and keys, and the index of a table in an array of tables."""

_NAME = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_DOTTED = rf"{_NAME}(?:[ \t]*\.[ \t]*{_NAME})*"
_HEADER = re.compile(rf"[ \t]*(\[\[?)[ \t]*({_DOTTED})[ \t]*\]")
_ASSIGNMENT = re.compile(rf"[ \t]*({_DOTTED})[ \t]*=")
STRING = r""""(?:\\.|[^"\\\n])*"|'[^'\n]*'"""
_LONG_STRING = r'"{3}(?:\\.|[^\\])*?"{3,5}|' r"'{3}.*?'{3,5}"
_OPAQUE = re.compile(rf"(?P<long>{_LONG_STRING})|(?P<comment>#[^\n]*)|{STRING}", re.DOTALL)


class KeyLines:
    """The lines, from 1, of the tables and keys of a TOML text that has been parsed without an error.

    Keys inside an inline table or an array stand on the line where that begins.
    """

    def __init__(self, text: str) -> None:
        self._lines: dict[Key, int] = {(): 1}
        entries: dict[Key, int] = {}  # of each array of tables the index of its last entry
        table: Key = ()
        for number, line in _statements(text):
            if header := _HEADER.match(line):
                *parents, name = split_key(header[2])
                table = ()
                for parent in parents:
                    table += (parent,)
                    table += (entries[table],) if table in entries else ()
                table += (name,)
                if header[1] == "[[":
                    entries[table] = entries.get(table, -1) + 1
                table += (entries[table],) if table in entries else ()
                self._lines.setdefault(table, number)
            elif assignment := _ASSIGNMENT.match(line):
                self._lines.setdefault(table + split_key(assignment[1]), number)
        # A table without a header of its own begins where the first of its keys stands.
        for key, number in sorted(self._lines.items(), key=lambda item: item[1]):
            for depth in range(len(key)):
                self._lines.setdefault(key[:depth], number)

    def __getitem__(self, key: Key) -> int:
        """The line of the key, or of the nearest table around it that has one."""
        while key not in self._lines:
            key = key[:-1]
        return self._lines[key]


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """Yield, numbered, the lines that may begin with a header or a key: those outside arrays and strings."""
    depth = 0
    for number, line in enumerate(_OPAQUE.sub(_blank, text).split("\n"), start=1):
        if depth == 0:
            yield number, line
        bare = re.sub(STRING, "", line)
        depth += sum(bare.count(mark) for mark in "[{") - sum(bare.count(mark) for mark in "]}")


def _blank(part: re.Match[str]) -> str:
    """Empty comments and long strings but for their line ends: what looks like a key in them is none."""
    if part["long"]:
        return "\n" * part[0].count("\n")
    return "" if part["comment"] else part[0]


def split_key(dotted: str) -> tuple[str, ...]:
    """Split a dotted key into its names, without quotes; raises `ValueError` if it is no key of TOML."""
    if not re.fullmatch(_DOTTED, dotted):
        raise ValueError(f"{dotted!r} is no key")
    names = re.findall(_NAME, dotted)
    return tuple(next(iter(tomlkit.parse(f"{name} = 0"))) if name[0] in "\"'" else name for name in names)
