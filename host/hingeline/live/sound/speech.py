"""Words through whatever the system speaks with."""

from __future__ import annotations

import os
import shutil
from subprocess import DEVNULL, Popen

from hingeline.errors import UsageProblem
from hingeline.live.words import verdicts_of
from hingeline.procedures.state import State

WORDS = "{words}"
VARIABLE = "HINGELINE_WORDS"
_POWERSHELL = (
    "Add-Type -AssemblyName System.Speech; "
    f"(New-Object System.Speech.Synthesis.SpeechSynthesizer).Speak($env:{VARIABLE})"
)
PROGRAMS: dict[str, tuple[str, ...]] = {
    "spd-say": ("--wait", "--", WORDS),
    "say": ("--", WORDS),
    "espeak-ng": ("--", WORDS),
    "powershell": ("-NoProfile", "-NonInteractive", "-Command", _POWERSHELL),
}
"""What is looked for, in this order, and its arguments. PowerShell would carry words out: a variable holds them."""


class Speech:
    """Says what is asked, what was captured and what is wrong; what it can't say in time is left out.

    Raises `UsageProblem` if the system has none of `PROGRAMS`.
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
        self._speaking: Popen[bytes] | None = None
        self._next = ""
        self._before: State | None = None
        self._news: object = None

    def show(self, state: State) -> None:
        """Say what is new."""
        news = (state.taken, state.ask, *verdicts_of(state))
        if news != self._news:
            self._next = _words(state, self._before)
            self._before, self._news = state, news
        if self._next and (self._speaking is None or self._speaking.poll() is not None):
            self._speaking = self._say(self._next)
            self._next = ""

    def _say(self, words: str) -> Popen[bytes]:
        command = [words if part == WORDS else part for part in self._command]
        environment = {**os.environ, VARIABLE: words}
        return Popen(command, stdin=DEVNULL, stdout=DEVNULL, stderr=DEVNULL, env=environment)

    def close(self) -> None:
        """Stop speaking."""
        if self._speaking is not None:
            self._speaking.terminate()
            self._speaking.wait()


def _words(state: State, before: State | None) -> str:
    if state.alarms:
        return ". ".join(f"{sensor.side} sensor {sensor.condition}" for sensor in state.alarms)
    taken = "Captured. " if before and state.taken != before.taken else ""
    if taken or state.ask != (before.ask if before else ""):
        return f"{taken}{state.ask}"
    return ", ".join(f"{gap.side} {gap.word.lower()}" for gap in state.gaps)
