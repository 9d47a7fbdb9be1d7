"""What this computer knows of a serial device: what it usually is, and whether this user may open it.

Which board it is, it says itself. Vendor and product numbers from memory.
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from typing import NamedTuple

RP2 = (
    "Hold its BOOTSEL button while you plug it in; onto the drive that appears, copy the .uf2 file of your board "
    "from micropython.org/download"
)
ESP32 = (
    "`pip install esptool`, take the .bin file of your board from micropython.org/download, and run "
    "`esptool --port {port} erase-flash`, then `esptool --port {port} write-flash 0 FILE.bin`; a classic ESP32 "
    "wants 0x1000 in place of 0"
)
ANY_BOARD = "Put MicroPython on it as micropython.org/download says for your board"


class Device(NamedTuple):
    """The device that a USB identity usually is, and how MicroPython gets on it (`{port}` is to be filled in)."""

    name: str
    micropython: str


DEVICES = {
    (0x2E8A, 0x0003): Device("Raspberry Pi Pico in its boot loader", RP2),
    (0x2E8A, 0x0005): Device("Raspberry Pi Pico with MicroPython", RP2),
    (0x2E8A, 0x000A): Device("Raspberry Pi Pico with another program", RP2),
    (0x2E8A, 0x000F): Device("Raspberry Pi Pico 2 in its boot loader", RP2),
    (0x303A, 0x1001): Device("ESP32-C3 or ESP32-S3 on its own USB", ESP32),
    (0x303A, 0x4001): Device("ESP32-S3 with MicroPython", ESP32),
    (0x10C4, 0xEA60): Device("UART bridge CP210x, usual on ESP32 boards", ESP32),
    (0x1A86, 0x7523): Device("UART bridge CH340, usual on ESP32 boards", ESP32),
    (0x1A86, 0x55D3): Device("UART bridge CH343, usual on ESP32-S3 boards", ESP32),
    (0x1A86, 0x55D4): Device("UART bridge CH9102, usual on ESP32 boards", ESP32),
    (0x0403, 0x6001): Device("UART bridge FT232R", ANY_BOARD),
    (0x0403, 0x6015): Device("UART bridge FT231X", ANY_BOARD),
    (0xF055, 0x9800): Device("board with MicroPython", ANY_BOARD),
}
VENDORS = frozenset(vendor for vendor, _ in DEVICES)
"""Raspberry Pi, Espressif, Silicon Labs, WCH, FTDI, MicroPython."""
HAS_UDEV = sys.platform == "linux"
UDEV_FILE = "/etc/udev/rules.d/60-hingeline.rules"
"""Its number must be below 73: there the rule takes effect that gives a device to whoever sits at this computer."""
_VENDORS = "|".join(f"{vendor:04x}" for vendor in sorted(VENDORS))
UDEV_RULE = f'SUBSYSTEM=="tty", ATTRS{{idVendor}}=="{_VENDORS}", TAG+="uaccess", ENV{{ID_MM_DEVICE_IGNORE}}="1"'
"""The user before the screen may open boards, and no modem manager tries them."""


@dataclass(frozen=True)
class Permission:
    """Whether this user may open a port, and whether members of its group may, if that is not root's.

    The user is a `member` by the system's list, which holds from the next login on.
    """

    port: str
    granted: bool
    group: str
    through_group: bool
    member: bool

    @property
    def cure(self) -> str:
        """How the user gets to open it."""
        if not self.through_group:
            first = f"Its group may not use it either: run `sudo chmod a+rw {self.port}`"
        elif self.member:
            first = f"You are in the group {self.group} from your next login on: log out and in again"
        else:
            join = f"run `sudo usermod -aG {self.group} $USER`, log out and in again"
            first = f"It belongs to the group {self.group}: {join}"
        return first + (f"; or make a udev rule, see `hingeline doctor --port {self.port}`" if HAS_UDEV else "")


def permission(port: str) -> Permission | None:
    """Ask the system about a device file; None on Windows, which has neither groups nor modes of them."""
    if sys.platform == "win32":
        return None
    import grp
    import pwd

    status = os.stat(port)
    try:
        group = grp.getgrgid(status.st_gid)
        name, members = group.gr_name, group.gr_mem
    except KeyError:
        name, members = str(status.st_gid), []
    try:
        user = pwd.getpwuid(os.geteuid()).pw_name
    except KeyError:
        user = ""
    return Permission(
        port,
        granted=os.access(port, os.R_OK | os.W_OK, effective_ids=os.access in os.supports_effective_ids),
        group=name,
        through_group=status.st_mode & 0o060 == 0o060 and status.st_gid != 0,
        member=user in members,
    )
