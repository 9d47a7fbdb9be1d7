"""Files from others are data: nothing in them runs, no size of them keeps this computer busy or fills its memory."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest
from tests.posix import resource

from hingeline.storage.sessions import OLD_FILE as FILE

ROOT = Path(__file__).parents[2]
PACKAGES = (
    "host/hingeline",
    "calibration/hingeline_calibration",
    "shared_protocol",
    "firmware/hingeline_firmware",
)
RUNS_DATA = {
    "pickle",
    "marshal",
    "shelve",
    "dill",
    "yaml",
    "zipfile",
    "tarfile",
    "gzip",
    "lzma",
    "bz2",
    "xml",
}
"""Modules that make objects or code of what they read, or much of little."""
CALLS = {"eval", "exec", "__import__", "os.system", "os.popen"}
CHILD = {"hingeline_virtual/on_board"}
"""Runs in the boards of the virtual bench: reads nothing but what the bench gives it."""
DRIVERS = "hingeline_firmware/chips/__init__.py"
"""Loads a driver by a name of the table made at the installation; MicroPython has no importlib."""
GIGABYTE = 1_000_000_000
MEMORY = 400_000_000
"""The numerical stack takes a quarter of it."""


@pytest.mark.parametrize("package", PACKAGES)
def test_nothing_is_run_or_unpacked(package):
    for path in sorted((ROOT / package).rglob("*.py")):
        if any(part in path.as_posix() for part in CHILD):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import | ast.ImportFrom):
                module = (getattr(node, "module", None) or node.names[0].name).partition(".")[0]
                assert module not in RUNS_DATA, path
            elif isinstance(node, ast.Call):
                called = ast.unparse(node.func)
                assert called not in CALLS or (called == "__import__" and path.as_posix().endswith(DRIVERS)), path
                assert "shell" not in [one.arg for one in node.keywords], path


def huge(path: Path) -> Path:
    """Make a file of a gigabyte, of which the disk holds nothing."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch()
    os.truncate(path, GIGABYTE)
    return path


def deep(path: Path) -> Path:
    """Make a file of a hundred thousand brackets."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("E 1 " + "[" * 100_000 + "\n")
    return path


@pytest.mark.long
@pytest.mark.parametrize("form", [huge, deep])
@pytest.mark.parametrize(
    ("name", "command"),
    [
        ("other.rig.toml", ("rig", "check", "{file}")),
        ("other.toml", ("virtual", "{file}")),
        ("other.json", ("calibration", "import", "{file}")),
        (FILE, ("report", "{folder}")),
    ],
)
def test_a_monstrous_file_is_told_at_once_with_little_memory(tmp_path, form, name, command):
    path = form(tmp_path / "given" / name)
    limit = resource.setrlimit
    told = subprocess.run(
        [
            sys.executable,
            "-m",
            "hingeline",
            *(part.format(file=path, folder=path.parent) for part in command),
        ],
        env={**os.environ, "HINGELINE_HOME": str(tmp_path / "home"), "OPENBLAS_NUM_THREADS": "1"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=lambda: limit(resource.RLIMIT_DATA, (MEMORY, MEMORY)),
    )
    assert told.returncode in (2, 7), told
    assert told.stderr.startswith("hingeline: ")
    assert "Traceback" not in told.stderr
