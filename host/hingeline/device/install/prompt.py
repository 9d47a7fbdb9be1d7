"""The prompt of the MicroPython at a port: is there one?"""

from __future__ import annotations

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


def answers(port: str) -> tuple[bool, bytes]:
    """Stop what runs on a board; return whether MicroPython's prompt answers, and all that was heard.

    Raises
    ------
    NoBoard, PortBusy, PortForbidden, UsageProblem
        The port can't be had.
    """
    deadline_s = monotonic() + PROMPT_S
    there, heard = _ask(open_port(port), deadline_s)
    while not there and monotonic() < deadline_s:
        sleep(_LOOK_S)
        try:
            there, heard = _ask(open_port(port), deadline_s)
        except (NoBoard, PortForbidden):
            continue  # Ctrl-C has restarted it, and its port is not back yet, or not yet everybody's
    return there, heard


def _ask(channel: Channel, deadline_s: float) -> tuple[bool, bytes]:
    """Ask for the prompt until it answers, the port goes away, or time is over; what was heard comes along."""
    heard = b""
    try:
        while _NAMES_ITSELF not in heard and monotonic() < deadline_s:
            channel.write(_TO_RAW_PROMPT)
            heard += _hear(channel)
        channel.write(_TO_PROMPT)
        return _NAMES_ITSELF in heard, heard
    except OSError:
        return False, heard  # takes no bytes, was pulled, or restarts because its watchdog was armed
    finally:
        channel.close()


def leave(port: str) -> None:
    """Start the board at a port anew, whatever its program is. Raises as `answers`."""
    channel = open_port(port)
    try:
        channel.write(_TO_RESTART)
    except OSError:
        pass  # its port went away, and will be back
    finally:
        channel.close()


def restart(port: str) -> None:
    """Start the board at a port anew, and listen until the firmware has, or its prompt is back. Raises as `answers`.

    One request goes along, and no other before it is answered: a slow board would have to answer them all.
    """
    channel = open_port(port)
    heard, deadline_s = b"", monotonic() + START_S
    try:
        channel.write(_TO_RESTART + b"\n" + _REQUEST + b"\n")
        while not any(sign in heard for sign in _STARTED) and monotonic() < deadline_s:
            if channel.wait(_TRY_S):
                heard += channel.read()
    except OSError:
        pass  # its port went away with the restart, and will be back
    finally:
        channel.close()


def _hear(channel: Channel) -> bytes:
    heard = b""
    deadline_s = monotonic() + _TRY_S
    while _NAMES_ITSELF not in heard and (left_s := deadline_s - monotonic()) > 0:
        if channel.wait(left_s):
            heard += channel.read()
    return heard
