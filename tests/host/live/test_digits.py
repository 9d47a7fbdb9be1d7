"""The large letters."""

import pytest

from hingeline.live.digits import _FONT, ROWS, draw, width


def read_large(text: str) -> str:
    """Read large letters of dots of two columns back from their lines."""
    lines = [line[::2] for line in text.splitlines()]
    letters = {rows: letter for letter, rows in _FONT.items() if letter != "0"} | {_FONT["0"]: "0"}
    found, column = "", 0
    while column < len(lines[0]):
        for size in (5, 4, 3, 1):
            rows = tuple(line[column : column + size].replace("█", "#").ljust(size) for line in lines)
            if rows in letters:
                found += letters[rows]
                column += size + 1
                break
        else:
            raise AssertionError(rows)
    return found


@pytest.mark.parametrize("text", ["+12.3", "-0.45", "+6789", "MORE", "WITHIN", "LESS", "LOW", "MATCHED", "HIGH"])
def test_large_letters_can_be_told_apart(text):
    lines = draw(text, (2, 1))
    assert len(lines) == ROWS >= 5
    assert {len(line) for line in lines} == {width(text, (2, 1))}
    assert read_large("\n".join(lines)) == text


def test_no_two_letters_look_alike():
    assert len(set(_FONT.values())) == len(_FONT)
