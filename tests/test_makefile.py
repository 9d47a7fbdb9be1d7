"""What `make` says to a computer whose Python is too old, as that of macOS is."""

import subprocess
import sys
from pathlib import Path

from tests.posix import write_program

ROOT = Path(__file__).parents[1]
OLD = f"""\
# a Python 3.9 to whoever asks for its version
test "$1" = -c || exit 99
exec "{sys.executable}" -c "import sys; sys.version_info = (3, 9, 6)
$2"
"""


def test_a_python_that_is_too_old_is_told_and_leaves_no_environment(tmp_path):
    old = tmp_path / "python3"
    write_program(old, OLD)
    (tmp_path / "Makefile").write_bytes((ROOT / "Makefile").read_bytes().replace(b"\r\n", b"\n"))
    (tmp_path / "pyproject.toml").touch()
    (tmp_path / "requirements").mkdir()
    (tmp_path / "requirements/development.txt").touch()
    made = subprocess.run(
        ["make", f"PYTHON={old}", ".venv/installed"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert made.returncode
    assert f"{old} is Python 3.9, hingeline needs 3.10 or newer" in made.stderr
    assert not (tmp_path / ".venv").exists()
