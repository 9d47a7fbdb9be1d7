"""Whether the oldest versions that pyproject.toml allows still do the job: `python -m tests.lowest`.

They are installed apart, and the demonstration is run by them: it calibrates, measures, reports and draws. Newer
Pythons have no wheels of them: there it says so, and CI's oldest Python looks.
"""

import subprocess
import sys
import venv
from pathlib import Path

import tomlkit
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / ".venv" / "lowest"
NEWEST = (3, 11)
"""numpy 1.24 has wheels up to here."""


def lowest() -> list[str]:
    """Return each dependency pinned to the lowest version that is allowed."""
    project = tomlkit.parse((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    needed = [Requirement(text) for text in project["dependencies"]]
    bounds = {each.name: next(bound.version for bound in each.specifier if bound.operator == ">=") for each in needed}
    return [f"{name}=={version}" for name, version in bounds.items()]


def main() -> None:
    if sys.version_info[:2] > NEWEST:
        print(f"The lowest versions are tried on Python up to {'.'.join(map(str, NEWEST))} alone.")
        return
    venv.create(FOLDER, with_pip=True, clear=True)
    binaries = FOLDER / ("Scripts" if sys.platform == "win32" else "bin")
    pip = [binaries / "python", "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, *lowest()], check=True)
    subprocess.run([*pip, "--no-deps", ROOT], check=True)
    subprocess.run([binaries / "python", "-m", "pip", "check", "--disable-pip-version-check"], check=True)
    subprocess.run([binaries / "hingeline", "demo"], check=True)


if __name__ == "__main__":
    main()
