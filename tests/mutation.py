"""Breaks the key lines of `mutants.py` one at a time, in a copy of the tree, and looks whether a test notices.

`make mutants`: writes docs/mutants.md, and ends with status 1 where a break goes unnoticed or its line is gone.
"""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

from tests.copies import FAILED, PASSED, ROOT, Copies, replaced, run_tests_soon
from tests.mutants import MUTANTS, Mutant

TABLE = ROOT / "docs" / "mutants.md"
DRAWN = "\n# Lines drawn at random\n"
"""Where the part of `random_mutants.py` begins, which is kept."""
HEAD = """# Key lines, each broken once

Made by `make mutants`, which breaks a line in a copy of the tree and runs the tests that are to notice. It fails where
none does.

| what is broken | file | the line | broken | noticed first by |
|---|---|---|---|---|
"""


def main() -> int:
    """Break each line, write the table, and return the exit status."""
    with tempfile.TemporaryDirectory() as folder:
        outcomes = Copies(Path(folder)).try_out(_first_to_notice, MUTANTS)
    unnoticed = 0
    rows = []
    for mutant, by in zip(MUTANTS, outcomes, strict=True):
        unnoticed += not by.startswith("tests/")
        name = Path(mutant.file).name
        cells = (mutant.what, f"`{name}`", _code(mutant.text), _code(mutant.broken), f"`{by}`")
        rows.append(f"| {' | '.join(cells)} |\n")
        print(f"{mutant.what:45} {by}")
    drawn = TABLE.read_text(encoding="utf-8").partition(DRAWN)[1:]
    TABLE.write_text(HEAD + "".join([*rows, *drawn]), encoding="utf-8")
    print(f"{len(MUTANTS) - unnoticed} of {len(MUTANTS)} noticed")
    return 1 if unnoticed else 0


def _first_to_notice(mutant: Mutant, copy: Path) -> str:
    """Return the first test that fails in a copy with the line broken and passes in one without; else what is wrong."""
    file = copy / mutant.file
    whole = file.read_text(encoding="utf-8")
    if whole.count(mutant.text) != 1:
        return f"the line stands there {whole.count(mutant.text)} times, expected once"
    with replaced(file, whole.replace(mutant.text, mutant.broken).encode()):
        status, output = run_tests_soon(copy, "-m", "", *(f"tests/{test}" for test in mutant.tests.split()))
    if status == PASSED:
        return "nobody notices"
    failed = re.search(r"^FAILED ([^\s\[]+)", output, re.MULTILINE)
    if status != FAILED or failed is None:
        return f"the tests did not run: {output[-300:]}"
    without, _ = run_tests_soon(copy, "-m", "", failed[1])
    return failed[1] if without == PASSED else f"fails without it too: {failed[1]}"


def _code(text: str) -> str:
    return f"`{text}`".replace("|", "\\|") if text else "taken out"


if __name__ == "__main__":
    sys.exit(main())
