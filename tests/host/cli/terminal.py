"""A command at a terminal."""

import os
import re
import subprocess
import sys

from tests.host.person import Outcome, Person
from tests.posix import pty


class Terminal:
    """A command at a terminal that it reads keys from and shows its screen on; data go to a pipe."""

    def __init__(self, person: Person, *arguments: str, **environment: str):
        self._near, far = pty.openpty()
        self._command = subprocess.Popen(
            [sys.executable, "-m", "hingeline", *arguments, "--port", *person.bench.ports.values()],
            stdin=far,
            stdout=subprocess.PIPE,
            stderr=far,
            env={**os.environ, "HINGELINE_HOME": str(person.home), "TERM": "xterm-256color", **environment},
            preexec_fn=os.setpgrp,  # noqa: PLW1509 - as a shell does: a group with no parent beside it never stops
        )
        os.close(far)
        self.told, self._read = "", 0

    def until(self, pattern: str) -> None:
        """Wait until it has shown something that it had not when this was last called."""
        while not (found := re.search(pattern, self.told[self._read :])):
            assert self._hear(), f"the command ended and never showed {pattern}:\n{self.told[self._read :]}"
        self._read += found.end()

    def press(self, key: str) -> None:
        """Press a key."""
        os.write(self._near, key.encode())

    def end(self) -> Outcome:
        """Wait until the command has ended."""
        while self._hear():
            pass
        stdout = self._command.stdout.read().decode()
        self._command.stdout.close()
        os.close(self._near)
        return Outcome(self._command.wait(), stdout, self.told)

    def _hear(self) -> bool:
        """Read some of what it shows; false once it has ended."""
        try:
            some = os.read(self._near, 65536)
        except OSError:  # Linux tells the end of a terminal so
            return False
        self.told += some.decode(errors="replace")
        return bool(some)
