"""On which line of a TOML text a key stands, which the parsed document no longer tells."""

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
        self._tables: dict[Key, int] = {}
        table: Key = ()
        for number, line in _statements(text):
            if header := _HEADER.match(line):
                table = self._table(split_key(header[2]), starts_entry=header[1] == "[[")
                self._lines.setdefault(table, number)
            elif assignment := _ASSIGNMENT.match(line):
                self._lines.setdefault(table + split_key(assignment[1]), number)
        for key, number in sorted(self._lines.items(), key=lambda known: known[1]):
            for depth in range(len(key)):
                self._lines.setdefault(key[:depth], number)

    def __getitem__(self, key: Key) -> int:
        """Return the line of the key, or of the nearest table around it that has one."""
        return next(
            self._lines[key[:depth]] for depth in range(len(key), -1, -1) if key[:depth] in self._lines
        )

    def _table(self, names: Key, starts_entry: bool) -> Key:
        """Return a header's key, with the index of the last entry after the name of each array of tables."""
        table: Key = ()
        for depth, name in enumerate(names, start=1):
            table += (name,)
            if starts_entry and depth == len(names):
                self._tables[table] = self._tables.get(table, -1) + 1
            if table in self._tables:
                table += (self._tables[table],)
        return table


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """Yield, numbered, the lines that may begin with a header or a key: those outside arrays and strings."""
    depth = 0
    for number, line in enumerate(_OPAQUE.sub(_emptied, text).split("\n"), start=1):
        if depth == 0:
            yield number, line
        bare = re.sub(STRING, "", line)
        depth += sum(bare.count(mark) for mark in "[{") - sum(bare.count(mark) for mark in "]}")


def _emptied(found: re.Match[str]) -> str:
    if found["long"]:
        return "\n" * found[0].count("\n")
    return "" if found["comment"] else found[0]


def split_key(dotted: str) -> tuple[str, ...]:
    """Return the names in a dotted key, without quotes; raises `ValueError` if it is no key of TOML."""
    if not re.fullmatch(_DOTTED, dotted):
        raise ValueError(f"{dotted!r} is no key")
    return tuple(_unquoted(name) for name in re.findall(_NAME, dotted))


def _unquoted(name: str) -> str:
    return next(iter(tomlkit.parse(f"{name} = 0"))) if name[0] in "\"'" else name
