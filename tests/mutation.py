"""Breaks the key lines of `mutants.py` one at a time, in a copy of the tree, and looks whether a test notices.

`make mutants`: writes docs/mutants.md, and ends with status 1 where a break goes unnoticed or its line is gone.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import SimpleQueue

from tests.mutants import MUTANTS, Mutant

ROOT = Path(__file__).parents[1]
TABLE = ROOT / "docs" / "mutants.md"
PACKAGES = ("host", "calibration", "shared_protocol", "firmware")
CORES = 2
FAILED, PASSED = 1, 0
"""Exit statuses of pytest: https://docs.pytest.org/en/stable/reference/exit-codes.html."""
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
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(CORES) as pool:
        copies: SimpleQueue[Path] = SimpleQueue()
        for number in range(CORES):
            copies.put(_copy(Path(folder) / str(number)))
        noticed = list(pool.map(lambda mutant: _noticed(mutant, copies), MUTANTS))
    unnoticed = 0
    rows = []
    for mutant, by in zip(MUTANTS, noticed, strict=True):
        unnoticed += not by.startswith("tests/")
        name = Path(mutant.file).name
        cells = (mutant.what, f"`{name}`", _code(mutant.text), _code(mutant.broken), f"`{by}`")
        rows.append(f"| {' | '.join(cells)} |\n")
        print(f"{mutant.what:45} {by}")
    drawn = TABLE.read_text(encoding="utf-8").partition(DRAWN)[1:]
    TABLE.write_text(HEAD + "".join([*rows, *drawn]), encoding="utf-8")
    print(f"{len(MUTANTS) - unnoticed} of {len(MUTANTS)} noticed")
    return 1 if unnoticed else 0


def _copy(folder: Path) -> Path:
    ignored = shutil.ignore_patterns(".*", "build", "__pycache__")
    return Path(shutil.copytree(ROOT, folder, ignore=ignored))


def _noticed(mutant: Mutant, copies: SimpleQueue[Path]) -> str:
    """Return the first test that fails in a copy with the line broken and passes in one without; else what is wrong."""
    copy = copies.get()
    path = copy / mutant.file
    whole = path.read_text(encoding="utf-8")
    try:
        if whole.count(mutant.text) != 1:
            return f"the line stands there {whole.count(mutant.text)} times, expected once"
        path.write_text(whole.replace(mutant.text, mutant.broken), encoding="utf-8")
        status, told = _tested(copy, [f"tests/{one}" for one in mutant.tests.split()])
        found = re.search(r"^FAILED ([^\s\[]+)", told, re.MULTILINE)
        if status == PASSED:
            return "nobody notices"
        if status != FAILED or found is None:
            return f"the tests did not run: {told[-300:]}"
        path.write_text(whole, encoding="utf-8")
        without, _ = _tested(copy, [found[1]])
        return found[1] if without == PASSED else f"fails without it too: {found[1]}"
    finally:
        path.write_text(whole, encoding="utf-8")
        copies.put(copy)


def _tested(copy: Path, tests: list[str]) -> tuple[int, str]:
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "-rf", "-p", "no:cacheprovider", "-m", "", *tests],
        cwd=copy,
        env={
            **os.environ,
            "PYTHONPATH": os.pathsep.join(str(copy / package) for package in PACKAGES),
            "PYTHONDONTWRITEBYTECODE": "1",
        },
        capture_output=True,
        text=True,
        check=False,
    )
    return run.returncode, run.stdout + run.stderr


def _code(text: str) -> str:
    return f"`{text}`".replace("|", "\\|") if text else "taken out"


if __name__ == "__main__":
    sys.exit(main())
