"""The screens of the pages are what a terminal shows: the commands typed again, before the bench of the pages.

The words must be the same, each line at least once. Figures may differ by the noise of the sensors, some standard
deviations of the worst of each kind: 0.25° or mm, 1 mg, 20 counts, whole numbers by 1. Left out are dates, ports, the
large screen, which shows a moment, and what stands there only when a reading came out noisy or a stroke paused.
"""

from __future__ import annotations

import re
import runpy
from pathlib import Path

import pytest

pytestmark = pytest.mark.long

DOCS = Path(__file__).parents[2] / "docs"
BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)
LEFT_OUT = re.compile(
    r"\d{4}-\d\d-\d\d[T_]\d\d[:-]\d\d[:-]\d\d(?:\+00:00)?|/tmp/hingeline-\w+"
    r"|\((?:left end|right end|arrow|lid) (?:up|down)\)| at [-+]?[\d.]+° (?:rising|falling)|\s*\blimited by [a-z].*"
    r"|^.*\.\.\. \d+ lines \.\.\..*|, but the limit is within the uncertainty"
    r"|^.*\d of \d+ strokes done; then back to neutral.*",
    re.MULTILINE,
)
COLUMNS = 80
FIGURE = re.compile(r"±?([-+]?\d+(?:\.\d+)?)( mg| counts)?")
MOMENT = re.compile(r"^(\$ .*\n)(?:.*\n)*?(?=Recording in)", re.MULTILINE)
WITHIN = {" mg": 1.0, " counts": 20.0}


def unfolded(block: str) -> list[str]:
    """Return the lines before the terminal folded them: what goes on deeper than it began had no room."""
    found: list[str] = []
    last, depth = "", 0
    for line in block.splitlines():
        word, *_ = [*line.split(), ""]
        own = len(line) - len(line.lstrip())
        if found and word and own > depth and len(f"{last} {word}") > COLUMNS:
            found[-1] += f" {line.strip()}"
        else:
            found.append(line)
            depth = own
        last = line
    return found


def lines(block: str) -> dict[str, list[tuple[float, float]]]:
    """Return by the words of each line its figures, each with how far it may be off; of the last with these words."""
    text = LEFT_OUT.sub("", "\n".join(unfolded(MOMENT.sub(r"\1", block))))
    return {
        " ".join(FIGURE.sub(r"#\2", line).split()): [
            (float(found[1]), WITHIN.get(found[2], 0.25 if "." in found[1] else 1.0)) for found in FIGURE.finditer(line)
        ]
        for line in text.splitlines()
        if line.strip()
    }


def test_a_stranger_sees_the_same_screens():
    for page, now in runpy.run_path(str(DOCS / "screens.py"))["pages"]():
        kept = page.read_text(encoding="utf-8")
        assert BLOCK.sub("", now) == BLOCK.sub("", kept), page
        for block, again in zip(BLOCK.findall(kept), BLOCK.findall(now), strict=True):
            written, shown = lines(block), lines(again)
            assert written.keys() == shown.keys(), page
            for words, figures in written.items():
                for (figure, within), (other, _) in zip(figures, shown[words], strict=True):
                    assert other == pytest.approx(figure, abs=within), f"{page}: {words}"
