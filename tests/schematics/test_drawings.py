"""The wiring diagrams are those of the data, byte for byte."""

import subprocess
import sys
from pathlib import Path

SCHEMATICS = Path(__file__).parents[2] / "schematics"
DIAGRAMS = SCHEMATICS / "diagrams"


def test_drawings_are_current(tmp_path: Path) -> None:
    subprocess.run([sys.executable, SCHEMATICS / "draw.py", tmp_path], check=True)
    kept = {path.name: path.read_bytes() for path in DIAGRAMS.glob("*.svg")}
    drawn = {path.name: path.read_bytes() for path in tmp_path.glob("*.svg")}
    assert kept.keys() == drawn.keys()
    stale = [name for name in kept if kept[name] != drawn[name]]
    assert not stale, f"{stale}: run `make schematics`"


def test_every_drawing_is_told_of() -> None:
    page = (SCHEMATICS / "README.md").read_text(encoding="utf-8")
    assert all(f"(diagrams/{path.name})" in page for path in DIAGRAMS.glob("*.svg"))
