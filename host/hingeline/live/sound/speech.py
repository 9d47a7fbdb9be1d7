"""Words through whatever the system speaks with."""

from __future__ import annotations

import shutil
import subprocess

from hingeline.errors import UsageProblem
from hingeline.procedures.state import State

PROGRAMS: dict[str, tuple[str, ...]] = {
    "spd-say": ("--wait", "--"),
    "say": ("--",),
    "espeak-ng": ("--",),
}
"""What is looked for, in this order, and what stands before the words."""


class Speech:
    """Says what is asked, what was captured and what is wrong; what it can't say in time is left out.

    Raises
    ------
    UsageProblem
        The system has none of `PROGRAMS`.
    """

    beats = 2

    def __init__(self) -> None:
        program = next((name for name in PROGRAMS if shutil.which(name)), None)
        if program is None:
            raise UsageProblem(
                "Nothing on this computer speaks: none of " + ", ".join(PROGRAMS),
                "Install speech-dispatcher or espeak-ng, or leave --speak out: tones need no speech",
            )
        self._command = (program, *PROGRAMS[program])
        self._speaking: subprocess.Popen[bytes] | None = None
        self._next = ""
        self._spoken: tuple[object, ...] = ()

    def show(self, state: State) -> None:
        """Say what is new."""
        alarms = tuple((sensor.side, sensor.condition) for sensor in state.alarms)
        words = tuple((gap.side, gap.word) for gap in state.gaps)
        new = (alarms, state.taken, state.ask, words)
        if new != self._spoken:
            self._next = _words(state, self._spoken)
            self._spoken = new
        if self._next and (self._speaking is None or self._speaking.poll() is not None):
            self._speaking = subprocess.Popen(
                [*self._command, self._next],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            self._next = ""

    def close(self) -> None:
        """Stop speaking."""
        if self._speaking is not None:
            self._speaking.terminate()
            self._speaking.wait()


def _words(state: State, spoken: tuple[object, ...]) -> str:
    if state.alarms:
        return ". ".join(f"{sensor.side} sensor {sensor.condition}" for sensor in state.alarms)
    _, captured, asked, _ = spoken or ((), state.taken, "", ())
    taken = "Captured. " if state.taken != captured else ""
    if state.ask != asked or taken:
        return f"{taken}{state.ask}"
    return ", ".join(f"{gap.side} {gap.word.lower()}" for gap in state.gaps)
