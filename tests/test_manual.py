"""The manual page is that of the commands, and a formatter has nothing to say against it."""

import runpy
import subprocess
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[1] / "docs"
KEPT = DOCS / "hingeline.1"


def test_the_manual_page_is_current():
    page = runpy.run_path(str(DOCS / "manual.py"))["page"]
    assert KEPT.read_text(encoding="ascii") == page(), "run `make manual`"


@pytest.mark.long
def test_a_formatter_warns_of_nothing_and_cuts_nothing():
    """Groff, with every warning; the examples, which it must not fold, fit a terminal of 80 columns."""
    command = ["groff", "-ww", "-man", "-Tutf8", "-P-cbou", str(KEPT)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert done.stderr == ""
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "hingeline throws" in done.stdout
