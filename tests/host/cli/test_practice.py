"""Practice from its start to the truth beside the result, by somebody who reads nothing but the screen."""

import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.posix import pty

UP, DOWN = "\x1b[A", "\x1b[B"


class Newcomer:
    """Sits before the terminal of `hingeline practice`."""

    def __init__(self, folder: Path):
        near, far = pty.openpty()
        self._near = near
        self.folder = folder
        environment = {"HINGELINE_HOME": str(folder / "own"), "TMPDIR": str(folder / "tmp"), "TERM": "xterm-256color"}
        (folder / "tmp").mkdir()
        self.command = subprocess.Popen(
            [sys.executable, "-m", "hingeline", "practice", "--json"],
            stdin=far,
            stdout=subprocess.PIPE,
            stderr=far,
            env={**os.environ, **environment, "COLUMNS": "80", "LINES": "40"},
            cwd=folder,
        )
        os.close(far)
        self._told, self._read = "", 0

    def until(self, pattern: str) -> re.Match[str]:
        """Wait until the screen shows something new."""
        while not (found := re.search(pattern, self._told[self._read :])):
            assert self._hear(), f"the command ended and never showed {pattern}"
        self._read += found.end()
        return found

    def press(self, *keys: str) -> None:
        for key in keys:
            os.write(self._near, key.encode())
            time.sleep(0.15)  # of a press alone, as fingers are: what comes at once is a paste

    def look(self) -> None:
        """Look at the screen for a while: the verdict follows what was turned last."""
        until_s = time.monotonic() + 6
        while time.monotonic() < until_s:
            self._hear()

    def rest(self) -> dict:
        """Wait for the end; give what is printed."""
        while self._hear():
            pass
        os.close(self._near)
        printed = self.command.stdout.read()
        self.command.stdout.close()
        return json.loads(printed.splitlines()[-1]) if printed else {}

    def _hear(self) -> bool:
        try:
            some = os.read(self._near, 65536)
        except OSError:
            return False
        self._told += re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", " ", some.decode(errors="replace"))
        return bool(some)


@pytest.mark.long
@pytest.mark.timeout(300)
def test_a_newcomer_sets_the_tail_right_and_sees_the_truth(tmp_path):
    somebody = Newcomer(tmp_path)
    somebody.until("Ready")
    somebody.press(" ")
    somebody.until("Lay 2 sensors")
    somebody.press("l")
    somebody.until("tape the sensors on")
    somebody.press("t", " ")
    somebody.until("sweep it slowly")
    somebody.press("s")
    somebody.until(r"RIGHT 1\.9\d?° LOW")
    somebody.press("]", "]")
    somebody.until("MATCHED")
    somebody.press(UP)
    lower = int(somebody.until(r"left LESS [\d.]+°: set the end point from 100 % to (\d+) %")[1])
    somebody.press(*["1"] * (100 - lower))
    somebody.until("left WITHIN")
    somebody.look()
    somebody.press(DOWN)
    higher = int(somebody.until(r"right MORE [\d.]+°: set the end point from 100 % to (\d+) %")[1])
    somebody.press(*["4"] * (higher - 100))
    somebody.until("right WITHIN")
    somebody.look()
    somebody.press("c")
    somebody.until("Take every sensor off")
    somebody.press("l", " ")
    result = somebody.rest()
    assert (somebody.command.wait(), result["inside"]) == (0, True), result
    assert [row["name"] for row in result["rows"]] == [
        "neutral, left - right",
        *(f"{way}, {side}" for way in ("up", "down") for side in ("left", "right")),
    ]
    # 95 % each: by chance one of five is outside its ± in 20 of 100 runs, and none by twice that
    assert all(abs(row["measured"] - row["truth"]) <= 2 * row["reach"] for row in result["rows"]), result["rows"]
    assert all(row["reach"] < 0.3 for row in result["rows"])
    assert not (tmp_path / "own").exists(), "nothing goes to the person's own store"
    assert not [path for path in (tmp_path / "tmp").iterdir() if path.is_dir()]


@pytest.mark.long
def test_q_ends_it_and_leaves_nothing(tmp_path):
    somebody = Newcomer(tmp_path)
    somebody.until("Ready")
    somebody.press("q")
    somebody.rest()
    assert somebody.command.wait() == 130
    assert not (tmp_path / "own").exists()
    assert not [path for path in (tmp_path / "tmp").iterdir() if path.is_dir()]


def test_without_a_terminal_it_says_so():
    done = subprocess.run(
        [sys.executable, "-m", "hingeline", "practice"], stdin=subprocess.DEVNULL, capture_output=True, check=False
    )
    assert done.returncode == 2
    assert b"needs a terminal" in done.stderr
