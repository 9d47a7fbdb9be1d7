"""The installation: only what differs is copied, every file is read back, what boots the board comes last.

Interrupted anywhere, the board starts to its prompt and not to a mix of two versions, and a repetition repairs it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from time import perf_counter, sleep
from typing import Any

from hingeline.device.description import board_fields, wired_text
from hingeline.device.install.configuration import configure_remote
from hingeline.device.install.payload import MAIN
from hingeline.device.install.prompt import Remote, RemoteFailure, restart
from hingeline.device.install.survey import OLDEST_TEXT, Survey, check_room, read_board, survey
from hingeline.device.link.board import BoardLink
from hingeline.device.link.ports import discover
from hingeline.errors import BoardLost, HingelineError, NoBoard, UsageProblem, WrongFirmware

BOOT_S = 20.0
"""A port that goes away with a restart is back by then."""
_LOOK_S = 0.2
ESTIMATE_SHARE = 0.1
"""Once this share is copied, the time left can be estimated."""
KEPT_MAIN = "main-before-hingeline.py"
TRY_TO_START = "from hingeline_firmware import app, console\napp.Board(console.Console())"
"""Runs on the board: what its program does before it first speaks."""


@dataclass(frozen=True)
class Installation:
    """A finished installation: the paths that were copied and removed, and the board's configuration."""

    machine: str
    micropython: str
    copied: tuple[str, ...]
    removed: tuple[str, ...]
    unchanged: int
    kept_main: bool
    configuration: Mapping[str, Any]


def find_port() -> str:
    """Find the only port that looks like a board.

    Raises `NoBoard` (there is no USB serial port); `UsageProblem` (several might be it).
    """
    candidates = discover()
    if not candidates:
        raise NoBoard(
            "No USB serial port was found",
            "Plug the board in with a cable that carries data, not power alone. A Pico that appears as a drive waits "
            "for MicroPython: copy the .uf2 file from micropython.org/download onto it",
        )
    likely = [candidate for candidate in candidates if not candidate.unlikely] or list(candidates)
    if len(likely) > 1:
        names = ", ".join(f"{each.port} ({each.name})" for each in likely)
        raise UsageProblem(f"Several ports may lead to a board: {names}", "Name one with --port")
    return likely[0].port


def install(
    port: str,
    say: Callable[[str], None],
    passing: Callable[[str], None],
    changes: Mapping[str, str | bool],
    *,
    sources: bool = False,
) -> Installation:
    """Put the firmware on the board at `port`, with `changes` of keys of its configuration, and restart it.

    `say` is called with each step, `passing` with the progress meanwhile. The firmware goes there compiled, or as
    `sources` that can be read and changed.

    Raises `NoBoard`, `PortBusy`, `PortForbidden`, `UsageProblem` (the port can't be had, the board has no room, or it
    can't be configured so); `WrongFirmware` (no MicroPython is there, or one that is too old); `BoardLost` (the copying
    broke off, or a file does not read back as it was sent).
    """
    remote = Remote(port)
    board = replace(survey(remote), sources=sources)
    version = ".".join(map(str, board.version))
    say(f"{port}: {board.machine}, MicroPython {version}.")
    check_room(port, board)
    differing, stale = board.differing, board.stale
    try:
        if differing or stale:
            kilobytes = sum(map(len, differing.values())) / 1000
            say(f"To copy: {len(differing)} of {len(board.wanted)} files, {kilobytes:.0f} kB. To remove: {len(stale)}.")
            _remove_start(remote, board)
            _put(remote, board, {path: content for path, content in differing.items() if path != MAIN}, passing)
            _put(remote, board, {MAIN: board.wanted[MAIN]}, passing)
        configuration = configure_remote(remote, changes)
    except RemoteFailure as failure:
        raise BoardLost(
            f"{port} broke off while hingeline was put on it: {failure}",
            "Repeat `hingeline install`: it goes on where it broke off. If it fails again, press the board's reset "
            "button first",
        ) from failure
    say("Installed; waiting for the board to start.")
    restart(port)
    if changes:
        configuration.check(port, changed=True)
    return Installation(
        machine=board.machine,
        micropython=version,
        copied=tuple(differing),
        removed=stale,
        unchanged=len(board.wanted) - len(differing),
        kept_main=board.foreign_main,
        configuration=configuration.values,
    )


def open_started(port: str) -> BoardLink:
    """Open the board at `port` once its program has started. Raises `WrongFirmware` (it does not in time; why)."""
    deadline_s = perf_counter() + BOOT_S
    while True:
        try:
            return BoardLink(port, lambda arrived: None)
        except (NoBoard, WrongFirmware) as error:
            if perf_counter() > deadline_s:
                raise _does_not_start(port, error) from error
        sleep(_LOOK_S)


def describe_started(port: str, buses: Sequence[Mapping[str, int]] | None) -> tuple[str, dict[str, Any]]:
    """Describe the board at `port`, once it has started, in words and in fields for JSON; `buses`: `wired_text`."""
    with closing(open_started(port)) as link:
        return wired_text(link, buses), {**board_fields(link), "notices": link.decoder.notices}


def _does_not_start(port: str, error: HingelineError) -> WrongFirmware:
    """Find out why a board's program does not run, by trying its first steps on the board."""
    try:
        Remote(port).execute(TRY_TO_START)
        reason = error.message
    except RemoteFailure as failure:
        reason = str(failure)
    return WrongFirmware(
        f"{port} has all files, but does not introduce itself: {reason}",
        "Press the board's reset button and run `hingeline boards`. If it stays so, its MicroPython lacks what the "
        f"firmware needs: put the one of your very board on it from micropython.org/download, {OLDEST_TEXT} or newer",
    )


def _remove_start(remote: Remote, board: Survey) -> None:
    """Take away the file that starts the board, and files and folders that are left of another version.

    An empty folder would hide a module of its name.
    """
    ours = [MAIN] if MAIN in board.checksums and not board.foreign_main else []
    steps = [f"os.rename({MAIN!r}, {KEPT_MAIN!r})"] if board.foreign_main else []
    steps += [f"os.remove({path!r})" for path in (*ours, *board.stale)]
    parents = {str(parent) for path in board.stale for parent in PurePosixPath(path).parents} - {".", "lib"}
    used = {str(parent) for path in board.wanted for parent in PurePosixPath(path).parents}
    steps += [f"os.rmdir({folder!r})" for folder in sorted(parents - used, key=len, reverse=True)]
    if steps:
        remote.execute("\n".join(["import os", *steps]))


def _put(remote: Remote, board: Survey, contents: dict[str, bytes], passing: Callable[[str], None]) -> None:
    """Copy files, estimating the time left by the bytes so far, and read them back."""
    if not contents:
        return
    started_s, total, copied = 0.0, sum(map(len, contents.values())), 0

    def on_file(path: str) -> None:
        nonlocal started_s, copied
        started_s = started_s or perf_counter()
        left_s = (perf_counter() - started_s) * (total / copied - 1) if copied else 0.0
        left = f", {left_s:.0f} s to go" if copied > ESTIMATE_SHARE * total else ""
        passing(f"{path}{left}")
        copied += len(contents[path])

    remote.put(contents, on_file)
    passing("Reading back ...")
    wrong = sorted(set(contents) & set(replace(read_board(remote), sources=board.sources).differing))
    if wrong:
        raise RemoteFailure(f"{len(wrong)} of {len(contents)} files, first {wrong[0]}, do not read back as sent")
