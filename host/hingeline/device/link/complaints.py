"""The errors of a link: each says what happened and what to do next."""

from __future__ import annotations

import traceback
from pathlib import Path
from typing import Any

from hingeline.errors import BoardRefused, HingelineError, NoBoard, PortBusy, ProtocolMismatch, WrongFirmware
from hingeline_protocol import PROTOCOL
from hingeline_protocol.messages import VERBS

UPDATE_HOST = "Bring this computer's hingeline up to date: `pip install --upgrade hingeline`"
UPDATE_BOARD = "Put this hingeline's firmware on the board: `hingeline install`"
CURES = {
    "sensor": "Give the number of a sensor that the board has; `hingeline boards` lists them",
    "chip": "Check the sensor's four wires and try again",
    "busy": "Wait until the board has finished, then try again",
    "store": "The board's file system is full or damaged: `mpremote fs ls` shows it; then `hingeline install`",
    "empty": "Give the board this computer's calibration: `hingeline calibration choose SENSOR --from host`",
    "unsupported": "This chip or board can't do it: go on without",
    "cable": "Connect the board by its cable and ask it there",
    "range": "Ask for less: PROTOCOL.md tells what a board takes",
}
"""By the code of an `err`; the other codes mean that the two programs do not fit together."""


def stranger(port: str, received: bytes) -> HingelineError:
    """A port where no board introduced itself."""
    if not received:
        cure = f"a board without the firmware gets it by `hingeline install --port {port}`"
        text = f"{port} opens, but nothing answers there"
        return NoBoard(text, f"Press the board's reset button, or try another port; {cure}")
    cure = f"Press the board's reset button; if that does not help, run `hingeline install --port {port}`"
    return WrongFirmware(f"What answers at {port} is no hingeline board; it says {printable(received)!r}", cure)


def printable(received: bytes) -> str:
    """Turn the beginning of received bytes into text for a message."""
    return "".join(chr(byte) if 0x20 <= byte <= 0x7E else " " for byte in received[:60]).strip()


def other_version(port: str, board: Any) -> ProtocolMismatch:
    """A board that speaks another protocol version than it was asked for."""
    text = f"{port} speaks protocol {board.protocol} (firmware {board.firmware}), this computer {PROTOCOL}"
    return ProtocolMismatch(text, UPDATE_HOST if board.protocol > PROTOCOL else UPDATE_BOARD)


def refused_version(port: str, text: str) -> ProtocolMismatch:
    """A board that knows no version this host speaks."""
    text = f"{port} speaks no protocol of this computer, which is version {PROTOCOL}; it says {text!r}"
    return ProtocolMismatch(text, f"{UPDATE_BOARD}, or the other way round: `pip install --upgrade hingeline`")


def refusal(port: str, message: Any, answer: Any) -> BoardRefused:
    """A request answered with `err`."""
    text = f"{port} refused `{VERBS[message]}`: {answer.text} ({answer.code})"
    return BoardRefused(text, CURES.get(answer.code, UPDATE_BOARD), answer.code)


def held(port: str, text: str) -> PortBusy:
    """A board that serves another host."""
    text = f"{port} is held by another host; the board says {text!r}"
    return PortBusy(text, "Let that host finish, then try again")


def unforeseen(activity: str, error: Exception) -> HingelineError:
    """An exception that no code expected: it names the place, as a report of it needs."""
    place = traceback.extract_tb(error.__traceback__)[-1]
    failure = HingelineError(
        f"{activity} failed: {type(error).__name__}: {error} ({Path(place.filename).name}, line {place.lineno})",
        "This is a fault of hingeline, not of the board: report it with this text. What was recorded is kept",
    )
    failure.__cause__ = error
    return failure
