"""A board to install on: the real MicroPython's prompt behind a pty, its file system a folder.

Like a board it runs `main.py` at each start, if there is one, and comes to its prompt when that ends; Ctrl-D at the
prompt starts it anew. Nothing answers on its buses, and its unique id is all FF, as of an emulated board.
"""

import os
import subprocess
import threading

import pytest
from tests.posix import pty, tty
from tests.unix_port import micropython

PROMPT = b">>> "
BOOT = "try:\n import main\nexcept ImportError:\n pass"
MACHINE = """
import os
class Pin:
    OPEN_DRAIN = PULL_UP = OUT = 1
    def __init__(self, number, *mode, value=1): pass
    def value(self, level=1): return level
class I2C:
    def __init__(self, bus, **settings): pass
    def readfrom_mem_into(self, address, register, buffer): raise OSError(5)
    def writeto_mem(self, address, register, data): raise OSError(5)
class WDT:
    def __init__(self, timeout): pass
    def feed(self): pass
PWRON_RESET = 1
def reset_cause(): return PWRON_RESET
def reset(): os.system("kill -9 $PPID")  # the shell's parent is this program
def unique_id(): return b"\\xff" * 8
"""


class UnixBoard:
    """The board while its `with` lasts; it begins at its prompt: what it is given then it has whole at its next start.

    Attributes
    ----------
    port
        What the host opens.
    files
        The folder that is its file system.
    starts
        How often it has started.
    """

    def __init__(self, folder):
        self.files = folder / "files"
        self.files.mkdir()
        (folder / "shadow").mkdir()
        (folder / "shadow" / "machine.py").write_text(MACHINE)
        self.starts = 0
        self._console, self._far = pty.openpty()
        tty.setraw(self._far)
        self.port = os.ttyname(self._far)
        self._path = f"{folder / 'shadow'}:lib:.frozen"
        self._on = True
        self._start()
        told = b""
        while PROMPT not in told:
            told += os.read(self._far, 1024)
        self._thread = threading.Thread(target=self._keep_on)

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *exception):
        self._on = False
        self._process.kill()
        self._thread.join()
        os.close(self._console)
        os.close(self._far)

    @property
    def tree(self):
        """Its files: content by path."""
        return {
            str(path.relative_to(self.files)): path.read_bytes() for path in self.files.rglob("*") if path.is_file()
        }

    def _start(self):
        self.starts += 1
        self._process = subprocess.Popen(
            [micropython(), "-i", "-c", BOOT],
            cwd=self.files,
            stdin=self._console,
            stdout=self._console,
            stderr=self._console,
            env={"MICROPYPATH": self._path},
            start_new_session=True,
        )

    def _keep_on(self):
        while self._process.wait() is not None and self._on:
            self._start()


@pytest.fixture
def unix_board(tmp_path):
    """A board with MicroPython on it and nothing else."""
    with UnixBoard(tmp_path) as board:
        yield board
