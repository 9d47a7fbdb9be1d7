"""The configuration of a board: read and changed at its prompt, by the firmware that uses it."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from hingeline.device.install.pin_maps import pin_maps
from hingeline.device.install.prompt import Remote, RemoteFailure, leave, restart
from hingeline.device.install.survey import survey
from hingeline.errors import BoardLost, UsageProblem, WrongFirmware, in_words

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
print("\\nhingeline " + json.dumps([values, wrong, failed]))
"""


class Configuration(NamedTuple):
    """The configuration that a board uses, by key."""

    values: Mapping[str, Any]
    wrong: str | None
    """Why the board can't use the one that it keeps, and uses the defaults."""
    failed: int | None
    """The error number of its file system, where that did not take a change."""

    def check(self, port: str, *, changed: bool) -> None:
        """Raise `UsageProblem` if the board refused a change or could not keep it, or can't use what it keeps."""
        if self.failed is not None:
            reason = in_words(OSError(self.failed, os.strerror(self.failed)))
            raise UsageProblem(
                f"The file system of {port} did not take the configuration: {reason}",
                "It uses the former one. Make room: delete your own files from the board, `mpremote fs ls` lists them. "
                "If it fails with room, erase the board's flash, put MicroPython on it and run `hingeline install`: "
                "that deletes everything that the board keeps, its calibrations too",
            )
        if self.wrong is None:
            return
        text = f"The configuration of {port} can't be used, the board uses the defaults: {self.wrong}"
        cure = "Configure it again: `hingeline configure KEY=VALUE`"
        if changed:
            text = f"{port} can't be configured so: {self.wrong}"
            cure = "Its configuration stays as it was: `hingeline configure` shows it"
        raise UsageProblem(text, f"{cure}; KEY= takes a key back to its default")


class Key(NamedTuple):
    """How a value of the configuration is written: an example, and the functions to the board's form and back."""

    example: str
    read: Callable[[str], Any]
    show: Callable[[Any], str]


def configure_remote(remote: Remote, changes: Mapping[str, Any]) -> Configuration:
    """Change keys of the configuration, None to a key's default, and read it. Raises `RemoteFailure`."""
    return Configuration(*remote.ask(ON_BOARD.format(changes=dict(changes))))


def configure(port: str, changes: Mapping[str, Any]) -> Configuration:
    """Change the configuration of the board at `port`, and restart it.

    Raises `NoBoard`, `PortBusy`, `PortForbidden` (the port can't be had); `UsageProblem` (the board refuses the
    changes, and its configuration stays; or it can't use the one that it keeps); `WrongFirmware` (it does not run this
    firmware, whose keys these are); `BoardLost` (it broke off).
    """
    remote = Remote(port)
    board = survey(remote)
    if not board.current:
        leave(port)
        cure = f"Run `hingeline install --port {port}` first: configuration and calibrations stay"
        raise WrongFirmware(f"The firmware on {port} is not that of this hingeline", cure)
    try:
        configuration = configure_remote(remote, changes)
    except RemoteFailure as failure:
        raise BoardLost(
            f"{port} broke off while it was configured: {failure}",
            "Repeat the command: it has the old or the new configuration. If it fails again, press the board's reset "
            "button first",
        ) from failure
    restart(port)
    configuration.check(port, changed=bool(changes))
    return configuration


def read_settings(assignments: tuple[str, ...]) -> dict[str, Any]:
    """Parse `KEY=VALUE` texts; an empty value is a key's default, None. Raises `UsageProblem`."""
    changes: dict[str, Any] = {}
    for assignment in assignments:
        key, given, text = assignment.partition("=")
        if not given or (text and key not in KEYS):
            cure = f"The keys: {', '.join(KEYS)}"
            raise UsageProblem(f"{assignment!r} is no KEY=VALUE of a board's configuration", cure)
        try:
            changes[key] = KEYS[key].read(text) if text else None
        except ValueError as error:
            cure = f"Write it as in {key}={KEYS[key].example}, or {key}= for the default"
            raise UsageProblem(f"{assignment!r} can't be read", cure) from error
    return changes


def show_settings(values: Mapping[str, Any]) -> str:
    """Write a line `KEY=VALUE` for each key, as `read_settings` takes them."""
    return "\n".join(f"{key}={'' if values[key] is None else form.show(values[key])}" for key, form in KEYS.items())


def _rows(example: str, *columns: str) -> Key:
    """A key with rows of cells; an address is hexadecimal, as on modules and in datasheets, with or without its 0x."""

    def cell(name: str, text: str) -> str | int:
        return text if name == "chip" else int(text, 16 if name == "address" else 10)

    def read(text: str) -> list[dict[str, str | int]]:
        rows = [zip(columns, row.split(":"), strict=True) for row in text.split(",")]
        return [{name: cell(name, written) for name, written in row} for row in rows]

    def show(rows: list[dict[str, Any]]) -> str:
        forms = {"address": "0x{:02X}"}
        return ",".join(":".join(forms.get(name, "{}").format(row[name]) for name in columns) for row in rows)

    return Key(example, read, show)


def read_pin_map(text: str) -> str:
    """Check the name of a pin map. Raises `UsageProblem`."""
    if text not in pin_maps():
        raise UsageProblem(f"There is no pin map {text!r}", f"Choose one of {', '.join(pin_maps())}")
    return text


_SWITCH = ("off", "on")
KEYS = {
    "name": Key("left wing", str, str),
    "board": Key("pico", read_pin_map, str),
    "buses": _rows("0:8:9,1:10:11", "id", "sda", "scl"),
    "bus_hz": _rows("0:400000,1:100000", "id", "hz"),
    "sensors": _rows("lis3dh:0:0x18,lis3dh:1:0x18", "chip", "bus", "address"),
    "lines_hz": Key("100", int, str),
    "readings": Key("2", int, str),
    "spi": Key("on", lambda text: bool(_SWITCH.index(text)), _SWITCH.__getitem__),
    "watchdog": Key("on", lambda text: bool(_SWITCH.index(text)), _SWITCH.__getitem__),
}
"""The keys of `hingeline_firmware.config`."""
