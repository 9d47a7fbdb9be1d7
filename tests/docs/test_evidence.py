"""The table of external checks names files that are there, and every data sheet that was read."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROWS = [
    line.split(" | ")
    for line in (ROOT / "docs" / "evidence.md").read_text(encoding="utf-8").splitlines()
    if line.startswith("| ") and not line.startswith("| what |")
]


def test_every_check_says_what_source_digits_and_where():
    assert len(ROWS) > 30
    assert all(len(row) == 4 and all(cell.strip(" |") for cell in row) for row in ROWS)


def test_every_file_of_a_check_is_there():
    named = [path for row in ROWS for path in re.findall(r"`([^`]+)`", row[3])]
    assert len(named) >= len(ROWS)
    assert [path for path in named if not (ROOT / "tests" / path).is_file()] == []
