"""Who may open a port, and what to do who may not."""

import os

import pytest

from hingeline.device.link.devices import UDEV_RULE, Permission, permission


def refused(**changes):
    usual = {
        "port": "/dev/ttyACM0",
        "granted": False,
        "group": "dialout",
        "through_group": True,
        "member": False,
    }
    return Permission(**{**usual, **changes})


@pytest.mark.parametrize(
    ("changes", "cure"),
    [
        ({}, "`sudo usermod -aG dialout $USER`, log out and in again"),
        ({"member": True}, "from your next login on: log out and in again"),
        ({"through_group": False}, "`sudo chmod a+rw /dev/ttyACM0`"),
    ],
)
def test_each_refusal_has_its_cure(changes, cure):
    assert cure in refused(**changes).cure


def test_what_the_system_says_of_a_port(pty_end):
    os.chmod(pty_end[1], 0o620)
    seen = permission(pty_end[1])
    assert seen is not None
    assert seen.granted
    assert not seen.through_group


def test_the_udev_rule_names_the_vendors():
    assert UDEV_RULE.startswith('SUBSYSTEM=="tty", ATTRS{idVendor}=="0403|10c4|1a86|2e8a|303a|f055", TAG+=')
