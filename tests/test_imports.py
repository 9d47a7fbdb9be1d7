"""Who may import whom: the table of DEVELOPERS.md, held by the import statements themselves."""

import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
STANDARD = set(sys.stdlib_module_names)
MICROPYTHON = {
    "binascii",
    "collections",
    "gc",
    "hashlib",
    "json",
    "machine",
    "micropython",
    "network",
    "os",
    "select",
    "socket",
    "struct",
    "sys",
    "time",
}
HOST = {
    "click",
    "jinja2",
    "markupsafe",
    "matplotlib",
    "miniaudio",
    "numpy",
    "pydantic",
    "pydantic_core",
    "rich",
    "scipy",
    "segno",
    "serial",
    "tomlkit",
    "platformdirs",
    "mpremote",
}
ALLOWED = {
    "shared_protocol/hingeline_protocol": {
        "hingeline_protocol", "binascii", "collections", "struct", "micropython",
    },
    "firmware/hingeline_firmware": {"hingeline_firmware", "hingeline_protocol"} | MICROPYTHON,
    "calibration/hingeline_calibration": {"hingeline_calibration", "numpy", "scipy"} | STANDARD,
    "host/hingeline": {"hingeline", "hingeline_calibration", "hingeline_protocol"} | HOST | STANDARD,
}  # fmt: skip
ON_THE_BOARD = ROOT / "host/hingeline/virtual/board"
"""Runs in the boards of the virtual bench, beside the firmware."""
UPWARD = ("hingeline.cli", "hingeline.demo")
"""What nothing below a command may import."""


def imports(path: Path) -> set[str]:
    """Return the full names of the modules that a file imports, those for type checkers left out."""
    names: set[str] = set()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for_types = {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) in ("TYPE_CHECKING", "False")
        for inner in ast.walk(node)
    }
    for node in set(ast.walk(tree)) - for_types:
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.add(node.module)
    return names


def files(folder: str) -> list[Path]:
    """Return the modules of a package."""
    return [path for path in sorted((ROOT / folder).rglob("*.py")) if ON_THE_BOARD not in path.parents]


@pytest.mark.parametrize("folder", ALLOWED)
def test_a_package_imports_what_it_may(folder):
    assert files(folder)
    strangers = {
        (str(path.relative_to(ROOT)), name)
        for path in files(folder)
        for name in imports(path)
        if name.split(".")[0] not in ALLOWED[folder]
    }
    assert not strangers


def test_nothing_imports_upward():
    above = [ROOT / "host/hingeline" / name for name in ("cli", "demo")]
    below = [
        path for path in files("host/hingeline") if path.parent not in above and path.name != "__main__.py"
    ]
    assert not {(path.name, name) for path in below for name in imports(path) if name.startswith(UPWARD)}
