"""What a board is told to be, read and changed at its prompt by the firmware that goes by it."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any, NamedTuple

from hingeline.device.install.prompt import leave, restart
from hingeline.device.install.remote import Remote, RemoteFailure
from hingeline.device.install.survey import survey
from hingeline.device.install.wiring import pin_maps
from hingeline.errors import BoardLost, UsageProblem, WrongFirmware, in_words

_MARK = "hingeline-configuration "
ON_BOARD = """\
import json
from hingeline_firmware import config, store
values, wrong, failed = config.DEFAULTS, None, None
try:
    if {changes!r}:
        config.change({changes!r})
    values = config.load()
except (config.ConfigError, store.StoreError) as error:
    wrong = str(error)
except OSError as error:
    failed = error.errno
print("\\n{mark}" + json.dumps([values, wrong, failed]))
"""


@dataclass(frozen=True)
class Configuration:
    """What a board goes by: a value a key, and what is wrong with what it was told, if it goes by the defaults.

    Parameters
    ----------
    failed
        The error number of its file system, where that did not take a change.
    """

    values: Mapping[str, Any]
    wrong: str | None
    failed: int | None

    def check_change(self, port: str) -> None:
        """Raise `UsageProblem` if the board refused to be told so, or could not keep it."""
        if self.failed is not None:
            raise UsageProblem(
                f"The file system of {port} did not take the configuration: "
                f"{in_words(OSError(self.failed, os.strerror(self.failed)))}",
                "It goes by what it had. Make room: delete files of yours from the board, `mpremote fs ls` lists them. "
                "If it fails with room, erase the board's flash, put MicroPython on it and run `hingeline install`: "
                "that deletes what the board keeps, its calibrations too",
            )
        if self.wrong is not None:
            raise UsageProblem(
                f"{port} can't be configured so: {self.wrong}",
                "Its configuration stays as it was: `hingeline configure` shows it, and KEY= takes a key back to its "
                "default",
            )

    def check(self, port: str) -> None:
        """Raise `UsageProblem` if the board can't go by what it was told."""
        if self.wrong is not None:
            raise UsageProblem(
                f"The configuration of {port} can't be used, the board goes by the defaults: {self.wrong}",
                "Tell it anew: `hingeline configure KEY=VALUE`; KEY= takes a key back to its default",
            )


class Key(NamedTuple):
    """How a value of the configuration is written: an example, and the ways to the board's form and back."""

    example: str
    read: Callable[[str], Any]
    show: Callable[[Any], str]


def configuration(remote: Remote, changes: Mapping[str, Any]) -> Configuration:
    """Return what the board at a port goes by, changed first; None is a key's default. Raises `RemoteFailure`."""
    said = remote.execute(ON_BOARD.format(changes=dict(changes), mark=_MARK))
    (line,) = [line for line in said.splitlines() if line.startswith(_MARK)]
    return Configuration(*json.loads(line.removeprefix(_MARK)))


def configure(port: str, changes: Mapping[str, Any]) -> Configuration:
    """Change the configuration of the board at `port`, and restart it.

    Raises
    ------
    NoBoard, PortBusy, PortForbidden
        The port can't be had.
    UsageProblem
        The board can't be told so, and what it was told stays; or what it was told can't be used.
    WrongFirmware
        It does not run this firmware, whose keys these are.
    BoardLost
        It broke off.
    """
    remote = Remote(port)
    found = survey(remote)
    if found.differing or found.stale:
        leave(port)
        raise WrongFirmware(
            f"The firmware on {port} is not that of this hingeline",
            f"Run `hingeline install --port {port}` first: configuration and calibrations stay",
        )
    try:
        told = configuration(remote, changes)
    except RemoteFailure as failure:
        raise BoardLost(
            f"{port} broke off while it was configured: {failure}",
            "Repeat the command: old or new is kept, nothing between. If it fails again, press the board's reset "
            "button first",
        ) from failure
    restart(port)
    if changes:
        told.check_change(port)
    told.check(port)
    return told


def read(assignments: tuple[str, ...]) -> dict[str, Any]:
    """Return the values that `KEY=VALUE` texts stand for; an empty one is the default, None, of whatever key.

    Raises `UsageProblem` for one that stands for nothing.
    """
    changes: dict[str, Any] = {}
    for assignment in assignments:
        key, given, text = assignment.partition("=")
        if not given or (text and key not in KEYS):
            raise UsageProblem(
                f"{assignment!r} is no KEY=VALUE of a board's configuration", f"The keys: {', '.join(KEYS)}"
            )
        try:
            changes[key] = KEYS[key].read(text) if text else None
        except ValueError as error:
            example = KEYS[key].example
            raise UsageProblem(
                f"{assignment!r} can't be read", f"Write it as in {key}={example}, or {key}= for the default"
            ) from error
    return changes


def show(values: Mapping[str, Any]) -> str:
    """Return a line `KEY=VALUE` a key, as `read` takes them."""
    return "\n".join(
        f"{key}={'' if values[key] is None else form.show(values[key])}" for key, form in KEYS.items()
    )


def _read_rows(columns: tuple[str, ...], text: str) -> list[dict[str, str | int]]:
    rows = [zip(columns, row.split(":"), strict=True) for row in text.split(",")]
    return [{column: _read_cell(column, cell) for column, cell in row} for row in rows]


def _read_cell(column: str, cell: str) -> str | int:
    """Return what a cell says; an address is hexadecimal, as on modules and in datasheets, with or without its 0x."""
    return cell if column == "chip" else int(cell, 16 if column == "address" else 10)


def _show_rows(columns: tuple[str, ...], rows: list[dict[str, Any]]) -> str:
    return ",".join(
        ":".join(f"0x{row[column]:02X}" if column == "address" else str(row[column]) for column in columns)
        for row in rows
    )


def _read_board(text: str) -> str:
    if text not in pin_maps():
        raise UsageProblem(f"There is no pin map {text!r}", f"Choose one of {', '.join(pin_maps())}")
    return text


def _read_switch(text: str) -> bool:
    return bool(("off", "on").index(text))


def _show_switch(on: bool) -> str:
    return ("off", "on")[on]


def _rows(example: str, *columns: str) -> Key:
    return Key(example, partial(_read_rows, columns), partial(_show_rows, columns))


KEYS = {
    "name": Key("left wing", str, str),
    "board": Key("pico", _read_board, str),
    "buses": _rows("0:8:9,1:10:11", "id", "sda", "scl"),
    "sensors": _rows("lis3dh:0:0x18,lis3dh:1:0x18", "chip", "bus", "address"),
    "lines_hz": Key("100", int, str),
    "readings": Key("2", int, str),
    "watchdog": Key("on", _read_switch, _show_switch),
}
"""The keys of `hingeline_firmware.config`."""
