"""Commands to be typed, in the quotes of each shell."""

import sys

import pytest

from hingeline.procedures.shell import join, quote

WITH_USERS_OWN = r"C:\Users\x\Documents\PowerShell\Modules;C:\Program Files\PowerShell\Modules;C:\Windows\Modules"
OF_EVERY_PROGRAM = r"C:\Program Files\WindowsPowerShell\Modules;C:\Windows\system32\WindowsPowerShell\v1.0\Modules"


@pytest.fixture
def windows(monkeypatch):
    """A function that makes this a shell of Windows, by the folders of modules that it is told of."""

    def become(modules):
        monkeypatch.setattr(sys, "platform", "win32")
        monkeypatch.delenv("SHELL", raising=False)
        monkeypatch.setenv("PSMODULEPATH", modules)

    return become


@pytest.mark.parametrize(
    ("text", "powershell", "prompt", "sh"),
    [
        ("flap", "flap", "flap", "flap"),
        (r"kept\lantern.rig.toml", r"kept\lantern.rig.toml", r"kept\lantern.rig.toml", r"'kept\lantern.rig.toml'"),
        ("Moss Lantern", "'Moss Lantern'", '"Moss Lantern"', "'Moss Lantern'"),
        ("O'Hare $1", "'O''Hare $1'", '"O\'Hare $1"', "'O'\"'\"'Hare $1'"),
        ("", "''", '""', "''"),
    ],
)
def test_each_shell_reads_back_what_was_meant(windows, text, powershell, prompt, sh):
    assert quote(text) == sh
    windows(WITH_USERS_OWN)
    assert quote(text) == powershell
    windows(OF_EVERY_PROGRAM)
    assert quote(text) == prompt


def test_a_unix_shell_on_windows_is_one(windows, monkeypatch):
    windows(WITH_USERS_OWN)
    monkeypatch.setenv("SHELL", "/usr/bin/bash")
    assert join(("hingeline", "report", "O'Hare")) == "hingeline report 'O'\"'\"'Hare'"
