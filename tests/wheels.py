"""Whether every dependency has a wheel for the computers that builders own: `make lint`.

pip resolves what `pip install hingeline` and its sound would fetch there, and takes no source: nobody with a bench has
a compiler.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from itertools import product
from pathlib import Path

import tomlkit

PLATFORMS = ("win_amd64", "macosx_14_0_arm64", "macosx_14_0_x86_64")
PYTHONS = ("3.10", "3.11", "3.12", "3.13", "3.14")


def requirements() -> list[str]:
    """What the project and its sound require."""
    text = (Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8")
    project = tomlkit.parse(text)["project"]
    return [*project["dependencies"], *project["optional-dependencies"]["sound"]]


def resolve(platform: str, python: str) -> str:
    """What pip says is missing there; nothing if all can be had."""
    ask = ["-m", "pip", "install", "--dry-run", "--quiet", "--disable-pip-version-check", "--only-binary=:all:"]
    with tempfile.TemporaryDirectory() as target:
        there = ["--target", target, "--platform", platform, "--python-version", python]
        command = [sys.executable, *ask, *there, *requirements()]
        run = subprocess.run(command, capture_output=True, text=True, check=False)
    return run.stderr.strip() or "pip failed" if run.returncode else ""


def main() -> int:
    """Print a line for each computer, and exit with 1 if one lacks a wheel."""
    computers = list(product(PLATFORMS, PYTHONS))
    with ThreadPoolExecutor(4) as pool:
        missing = list(pool.map(lambda computer: resolve(*computer), computers))
    for (platform, python), reason in zip(computers, missing, strict=True):
        print(f"{platform:20} Python {python:5} {reason or 'has a wheel of every dependency'}")
    return int(any(missing))


if __name__ == "__main__":
    sys.exit(main())
