"""Copies the project as git checks it out on Windows where nobody tells it otherwise: every text with CRLF.

python -m tests.portable.checkout FOLDER
"""

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def check_out(folder: Path) -> None:
    """Copy every file that is not ignored; what has no zero byte is text."""
    shutil.rmtree(folder, ignore_errors=True)
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, check=True).stdout.decode()
    for name in filter(None, listed.split("\0")):
        source, target = ROOT / name, folder / name
        if source.is_file():
            target.parent.mkdir(parents=True, exist_ok=True)
            content = source.read_bytes()
            is_text = b"\0" not in content
            target.write_bytes(content.replace(b"\r\n", b"\n").replace(b"\n", b"\r\n") if is_text else content)


if __name__ == "__main__":
    check_out(Path(sys.argv[1]))
