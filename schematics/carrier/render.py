"""Renders the carrier's parts with OpenSCAD: `python schematics/carrier/render.py`.

It also writes `rendered.sha256`, the checksums of source and parts as by sha256sum. A test compares them, so that no
part is older than its source.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
from pathlib import Path

FOLDER = Path(__file__).parent
SOURCE = "carrier.scad"
PARTS = {"left": "carrier-left.stl", "right": "carrier-right.stl", "floor": "carrier-floor.stl"}
"""The file of each `part` of the source."""
NOTE = "rendered.sha256"


def note() -> str:
    """The content of `rendered.sha256` for the present files."""
    contents = {SOURCE: (FOLDER / SOURCE).read_text(encoding="utf-8").encode()}  # whatever ends its lines here
    contents |= {name: (FOLDER / name).read_bytes() for name in PARTS.values()}
    return "".join(f"{hashlib.sha256(content).hexdigest()}  {name}\n" for name, content in contents.items())


def main() -> None:
    """Render every part beside the source."""
    program = shutil.which("openscad")
    if program is None:
        sys.exit("openscad is not on the search path: install OpenSCAD from your system's packages")
    for part, name in PARTS.items():
        options = ["--export-format", "binstl", "-D", f'part="{part}"']
        subprocess.run([program, "-q", "-o", FOLDER / name, *options, FOLDER / SOURCE], check=True)
    (FOLDER / NOTE).write_text(note(), encoding="ascii")


if __name__ == "__main__":
    main()
