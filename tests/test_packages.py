"""What is published: the same source gives the same wheel, and a source archive holds all that its tests need."""

import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest
from tests.copies import PASSED, ROOT, run_tests

LEFT_OUT = {".venv", ".git", "build", "dist", "__pycache__"}
OF_THEMSELVES = (
    "tests/shared_protocol/test_golden.py",
    "tests/host/rig/test_sheet.py",
    "tests/calibration/test_hinge.py",
)
"""Tests that read files of the archive: examples, templates, published tables."""


def build(kind: str, folder: Path, source: Path = ROOT) -> Path:
    command = [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(folder)]
    subprocess.run(command, cwd=source, check=True, capture_output=True)
    (path,) = folder.iterdir()
    return path


def test_the_same_source_gives_the_same_wheel(tmp_path):
    """At another time, by another umask, from another folder."""
    first = build("wheel", tmp_path / "first")
    sources = build("sdist", tmp_path / "sources")
    with tarfile.open(sources) as archive:
        archive.extractall(tmp_path / "elsewhere", filter="data")
    (elsewhere,) = (tmp_path / "elsewhere").iterdir()
    for path in elsewhere.rglob("*"):
        os.utime(path, (1e9, 1e9))
    before = os.umask(0o077)
    try:
        second = build("wheel", tmp_path / "second", elsewhere)
    finally:
        os.umask(before)
    assert first.name == second.name
    assert first.read_bytes() == second.read_bytes()
    with zipfile.ZipFile(first) as wheel:
        assert not [name for name in wheel.namelist() if name.startswith("tests")]


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("sdist")
    with tarfile.open(build("sdist", folder / "built")) as archive:
        archive.extractall(folder / "unpacked", filter="data")
    (only,) = (folder / "unpacked").iterdir()
    return only


def test_the_source_archive_holds_every_file(unpacked):
    """All that stands under version control, which has no list in an archive: all that is not made by a command."""
    everything = {
        path.relative_to(ROOT)
        for top in ("calibration", "docs", "firmware", "host", "requirements", "schematics", "shared_protocol", "tests")
        for path in (ROOT / top).rglob("*")
        if path.is_file() and not LEFT_OUT & set(path.parts) and not path.name.endswith(".pyc")
    }
    assert not sorted(path for path in everything if not (unpacked / path).exists())
    for name in ("Makefile", "LICENSE", "README.md", "SECURITY.md", "CHANGELOG.md", "DEVELOPERS.md", "pyproject.toml"):
        assert (unpacked / name).exists()


def test_tests_run_from_the_source_archive(unpacked):
    status, output = run_tests(unpacked, "-p", "no:xdist", *OF_THEMSELVES)
    assert status == PASSED, output
