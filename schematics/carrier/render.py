"""Renders the carrier's parts with OpenSCAD: `python schematics/carrier/render.py`.

Beside them goes `rendered.sha256`, in the form of sha256sum, of source and parts: so that nobody prints what the
source no longer says.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
SOURCE = "carrier.scad"
PARTS = {"left": "carrier-left.stl", "right": "carrier-right.stl", "floor": "carrier-floor.stl"}
"""The file of each `part` of the source."""
NOTE = "rendered.sha256"


def note() -> str:
    """Return what `rendered.sha256` has to be for the files that are there."""
    files = [HERE / SOURCE, *(HERE / name for name in PARTS.values())]
    return "".join(f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.name}\n" for path in files)


def main() -> None:
    """Render every part beside the source."""
    program = shutil.which("openscad")
    if program is None:
        sys.exit("openscad is not on the search path: install OpenSCAD, as your system packages it")
    for part, name in PARTS.items():
        options = ["--export-format", "binstl", "-D", f'part="{part}"']
        subprocess.run([program, "-q", "-o", HERE / name, *options, HERE / SOURCE], check=True)
    (HERE / NOTE).write_text(note(), encoding="ascii")


if __name__ == "__main__":
    main()
