"""The installation: only what differs is copied, every file is read back, what boots the board comes last.

Interrupted anywhere, the board starts to its prompt and not to a mix of two versions, and a repetition repairs it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from time import monotonic, sleep
from typing import Any

from hingeline.device.install.configuration import configuration
from hingeline.device.install.payload import MAIN, payload
from hingeline.device.install.prompt import restart
from hingeline.device.install.remote import Remote, RemoteFailure
from hingeline.device.install.survey import OLDEST_TEXT, Survey, check_room, survey, take
from hingeline.device.link.board import BoardLink
from hingeline.device.link.ports import discover
from hingeline.errors import BoardLost, HingelineError, NoBoard, UsageProblem, WrongFirmware

BOOT_S = 20.0
"""A port that goes away with a restart is back by then."""
_LOOK_S = 0.2
TELLING_SHARE = 0.1
"""Once so much is copied, the time left can be told."""
KEPT_MAIN = "main-before-hingeline.py"
TRY_TO_START = "from hingeline_firmware import app, console\napp.Board(console.Console())"
"""Runs on the board: what its program does before it first speaks."""


@dataclass(frozen=True)
class Done:
    """What an installation did: the paths that were copied, removed, and there already; what the board goes by."""

    machine: str
    micropython: str
    copied: tuple[str, ...]
    removed: tuple[str, ...]
    unchanged: int
    kept_main: bool
    configuration: Mapping[str, Any]


def find_port() -> str:
    """Return the one port that looks like a board.

    Raises
    ------
    NoBoard
        There is no USB serial port.
    UsageProblem
        Several might be it.
    """
    found = discover()
    if not found:
        raise NoBoard(
            "No USB serial port was found",
            "Plug the board in with a cable that carries data, not power alone. A Pico that appears as a drive waits "
            "for MicroPython: copy the .uf2 file from micropython.org/download onto it",
        )
    chosen = [one for one in found if one.likely] or list(found)
    if len(chosen) > 1:
        listed = ", ".join(
            f"{one.port} ({one.device.what if one.device else one.description})" for one in chosen
        )
        raise UsageProblem(f"Several ports may lead to a board: {listed}", "Name one with --port")
    return chosen[0].port


def install(
    port: str, say: Callable[[str], None], passing: Callable[[str], None], changes: Mapping[str, str | bool]
) -> Done:
    """Put the firmware on the board at `port` and restart it.

    Parameters
    ----------
    say, passing
        Told what is done, step by step, and what passes meanwhile.
    changes
        Keys of the board's configuration that get new values; the others stay.

    Raises
    ------
    NoBoard, PortBusy, PortForbidden, UsageProblem
        The port can't be had, the board has no room, or it can't be configured so.
    WrongFirmware
        No MicroPython is there, or one that is too old.
    BoardLost
        The copying broke off, or a file does not read back as it was sent.
    """
    remote = Remote(port)
    found = survey(remote)
    version = ".".join(map(str, found.version))
    say(f"{port}: {found.machine}, MicroPython {version}.")
    check_room(port, found)
    differing, stale = found.differing, found.stale
    try:
        if differing or stale:
            size = sum(map(len, differing.values()))
            say(
                f"To copy: {len(differing)} of {len(payload())} files, {size / 1000:.0f} kB. To remove: {len(stale)}."
            )
            _clear_the_way(remote, found, stale)
            _put(remote, {path: content for path, content in differing.items() if path != MAIN}, passing)
            _put(remote, {MAIN: payload()[MAIN]}, passing)
        told = configuration(remote, changes)
    except RemoteFailure as failure:
        raise BoardLost(
            f"{port} broke off while hingeline was put on it: {failure}",
            "Repeat `hingeline install`: it goes on where it broke off. If it fails again, press the board's reset "
            "button first",
        ) from failure
    say("Installed; waiting for the board to start.")
    restart(port)
    if changes:
        told.check_change(port)
    unchanged = len(payload()) - len(differing)
    return Done(found.machine, version, tuple(differing), stale, unchanged, found.foreign_main, told.values)


def introduced(port: str) -> BoardLink:
    """Return the board at `port` once its program has started.

    Raises
    ------
    WrongFirmware
        It did not introduce itself in time; what keeps it from starting is named.
    """
    deadline_s = monotonic() + BOOT_S
    while True:
        try:
            return BoardLink(port, _nobody)
        except (NoBoard, WrongFirmware) as error:
            if monotonic() > deadline_s:
                raise _does_not_start(port, error) from error
        sleep(_LOOK_S)


def _does_not_start(port: str, error: HingelineError) -> WrongFirmware:
    """Return the error for a board whose program does not run, by trying on the board what it does first."""
    try:
        Remote(port).execute(TRY_TO_START)
        why = error.message
    except RemoteFailure as failure:
        why = str(failure)
    return WrongFirmware(
        f"{port} has all files, but does not introduce itself: {why}",
        "Press the board's reset button and run `hingeline boards`. If it stays so, its MicroPython lacks what the "
        f"firmware needs: put the one of your very board on it from micropython.org/download, {OLDEST_TEXT} or newer",
    )


def _nobody(event: Any) -> None:
    """Nothing streams yet: who is told of events has nothing to do."""


def _clear_the_way(remote: Remote, found: Survey, stale: tuple[str, ...]) -> None:
    """Take away what starts the board, and what is left of an earlier version."""
    ours = [MAIN] if MAIN in found.digests and not found.foreign_main else []
    if found.foreign_main:
        remote.rename(MAIN, KEPT_MAIN)
    if ours or stale:
        remote.remove([*ours, *stale])


def _put(remote: Remote, contents: dict[str, bytes], passing: Callable[[str], None]) -> None:
    """Copy files, telling the time left by the bytes so far, and read them back."""
    if not contents:
        return
    started_s, total, copied = 0.0, sum(map(len, contents.values())), 0

    def told(path: str) -> None:
        nonlocal started_s, copied
        started_s = started_s or monotonic()
        left_s = (monotonic() - started_s) * (total / copied - 1) if copied else 0.0
        left = f", {left_s:.0f} s to go" if copied > TELLING_SHARE * total else ""
        passing(f"{path}{left}")
        copied += len(contents[path])

    remote.put(contents, told)
    passing("Reading back ...")
    wrong = sorted(set(contents) & set(take(remote).differing))
    if wrong:
        raise RemoteFailure(
            f"{len(wrong)} of {len(contents)} files, first {wrong[0]}, do not read back as sent"
        )
