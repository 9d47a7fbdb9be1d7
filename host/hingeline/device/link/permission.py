"""May this user open a port? On POSIX; elsewhere a refused port is a busy one."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass

from hingeline.device.link.usb import VENDORS

HAS_UDEV = sys.platform == "linux"
UDEV_FILE = "/etc/udev/rules.d/60-hingeline.rules"
"""Its number must be below 73: there the rule takes effect that gives a device to whoever sits before the screen."""
_VENDORS = "|".join(f"{vendor:04x}" for vendor in sorted(VENDORS))
UDEV_RULE = (
    f'SUBSYSTEM=="tty", ATTRS{{idVendor}}=="{_VENDORS}", TAG+="uaccess", ENV{{ID_MM_DEVICE_IGNORE}}="1"'
)
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
        return first + (
            f"; or make a udev rule, see `hingeline doctor --port {self.port}`" if HAS_UDEV else ""
        )


def permission(port: str) -> Permission:
    """Ask the system about a device file."""
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
