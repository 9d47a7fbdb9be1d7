"""The prompt of the MicroPython at a port, if there is one; starting the board anew."""

from __future__ import annotations

from contextlib import closing, suppress
from time import monotonic, sleep

from hingeline.device.link.conversation import PULSE
from hingeline.device.link.ports import Channel, open_port
from hingeline.errors import NoBoard, PortForbidden
from hingeline_protocol.messages import Ok, Status, pack

START_S = 180.0
"""A board compiles its files at each start: in seconds on a real one, an emulated one takes a minute."""
PROMPT_S = 6.0
"""Opening a port restarts some boards: then it takes a second or two until a prompt can answer."""
_TRY_S = 1.0
_LOOK_S = 0.2
_TO_RAW_PROMPT = b"\r\x03\x03\r\x01"
"""Ctrl-C stops a program, twice for one that catches the first; Ctrl-A asks for the raw prompt, which names itself."""
_TO_PROMPT = b"\r\x02"
_NAMES_ITSELF = b"raw REPL; CTRL-B to exit\r\n"
_TO_RESTART = b"\r\x03\x02\r\x04"
"""Ctrl-B leaves a raw prompt; Ctrl-D at the other starts anew and runs `main.py`."""
_REQUEST = pack(Status(PULSE)).rstrip()
_STARTED = (pack(Ok(0)).rstrip(), pack(Ok(PULSE)).rstrip(), _REQUEST)
"""The program has introduced itself, or answers the request; a prompt only echoes it."""


def has_micropython(port: str) -> tuple[bool, bytes]:
    """Stop the program of a board, and ask for MicroPython's prompt: whether it answers, and all bytes received.

    Raises `NoBoard`, `PortBusy`, `PortForbidden`, `UsageProblem` (the port can't be had).
    """
    deadline_s = monotonic() + PROMPT_S
    answers, received = _ask(open_port(port), deadline_s)
    while not answers and monotonic() < deadline_s:
        sleep(_LOOK_S)
        with suppress(
            NoBoard, PortForbidden
        ):  # not back yet after Ctrl-C restarted it, or not yet everybody's
            answers, received = _ask(open_port(port), deadline_s)
    return answers, received


def _ask(channel: Channel, deadline_s: float) -> tuple[bool, bytes]:
    """Ask for the prompt until it answers, the port goes away, or time is over."""
    received = b""
    with closing(channel), suppress(OSError):
        while _NAMES_ITSELF not in received and monotonic() < deadline_s:
            channel.write(_TO_RAW_PROMPT)
            tried_s = monotonic() + _TRY_S
            while _NAMES_ITSELF not in received and (left_s := tried_s - monotonic()) > 0:
                received += channel.read() if channel.wait(left_s) else b""
        channel.write(_TO_PROMPT)
        return _NAMES_ITSELF in received, received
    return False, received  # takes no bytes, was pulled, or restarts because its watchdog was armed


def leave(port: str) -> None:
    """Start the board at a port anew, whatever its program is. Raises as `has_micropython`."""
    with closing(open_port(port)) as channel, suppress(OSError):  # its port goes away, and will be back
        channel.write(_TO_RESTART)


def restart(port: str) -> None:
    """Start the board at a port anew, and listen until its firmware has started, or its prompt is back.

    One request is sent along, and no other before it is answered: a slow board would have to answer them all. Raises
    as `has_micropython`.
    """
    received, deadline_s = b"", monotonic() + START_S
    with closing(open_port(port)) as channel, suppress(OSError):  # its port goes away, and will be back
        channel.write(_TO_RESTART + b"\n" + _REQUEST + b"\n")
        while not any(sign in received for sign in _STARTED) and monotonic() < deadline_s:
            received += channel.read() if channel.wait(_TRY_S) else b""
