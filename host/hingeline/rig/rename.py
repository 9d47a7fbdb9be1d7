"""A table or key of a sheet under another name, where it stands: its order, comments and layout stay."""

from __future__ import annotations

import re
from typing import Any

import tomlkit

from hingeline.rig.toml_mistakes import ASSIGNMENT, HEADER, NAME, Key, dotted, split_key, statements


def renamed(text: str, key: Key, name: str) -> str:
    """Write the text of a sheet with the last name of `key` changed, in every header and line that has it.

    Inside a table of one line it goes to the end of that table.
    """
    lines = text.split("\n")
    table: Key = ()
    before: Key
    for number, line in statements(text):
        header, assignment = HEADER.match(line), ASSIGNMENT.match(line)
        if header:
            before, start, written = (), header.start(2), header[2]
            table = split_key(written)
        elif assignment:
            before, start, written = table, assignment.start(1), assignment[1]
        else:
            continue
        depth = len(key) - 1 - len(before)
        if depth >= 0 and (*before, *split_key(written))[: len(key)] == key:
            old = list(re.finditer(NAME, written))[depth]
            whole = lines[number - 1]
            lines[number - 1] = whole[: start + old.start()] + dotted((name,)) + whole[start + old.end() :]
    document = tomlkit.parse("\n".join(lines))
    inner: Any = document
    for part in key[:-1]:
        inner = inner.get(part, {})
    if key[-1] in inner:
        inner[name] = inner.pop(key[-1])
    return document.as_string()
