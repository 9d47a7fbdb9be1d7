"""The page about a computer, to be pasted where everybody reads it."""

import json
import socket

from serial.tools.list_ports_common import ListPortInfo
from tests.host.person import at_the_desk

from hingeline import __version__
from hingeline.device.doctor import system
from hingeline.device.doctor.system import describe_system

ROWS = [
    *("hingeline", "system", "Python", "Python is from", "terminal", "letters", "stdin", "stdout", "stderr", "clock"),
    *("folder of what is kept", "ports", "libraries"),
]


def test_a_page_has_all_that_a_maintainer_asks_for(tmp_path):
    outcome = at_the_desk(tmp_path, "doctor", "--system")
    assert outcome.status == 0
    names = [line.partition(": ")[0] for line in outcome.stdout.splitlines()]
    assert [name for name in names if name in ROWS] == ROWS
    assert outcome.stdout.startswith(f"hingeline: {__version__}, firmware ")
    rows = json.loads(at_the_desk(tmp_path, "doctor", "--system", "--json").stdout)["system"]
    assert list(rows) == names


def test_it_names_no_person_no_computer_and_no_board(tmp_path, monkeypatch):
    home = tmp_path / "Jane Doe"
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("USERPROFILE", str(home))
    info = ListPortInfo("COM3")
    info.vid, info.pid, info.serial_number, info.description = 0x2E8A, 0x0005, "e66118604b", "USB Serial Device"
    monkeypatch.setattr(system.list_ports, "comports", lambda: [info])
    folders = {"what is kept": home / "AppData" / "Local" / "hingeline", "this terminal": home / "Jane's models"}
    rows = describe_system(folders)
    page = json.dumps(rows)
    assert not [name for name in ("Jane", "e66118604b", socket.gethostname()) if name in page]
    assert rows["ports"] == "COM3 USB 2e8a:0005 USB Serial Device"
    assert rows["folder of what is kept"] == "~/AppData/Local/hingeline, not made yet, can be written to"


def test_a_folder_that_can_not_be_written_to_is_told(monkeypatch, tmp_path):
    def refuse(dir):
        raise PermissionError(13, "denied")

    monkeypatch.setattr(system.tempfile, "TemporaryFile", refuse)
    rows = describe_system({"what passes": tmp_path})
    assert rows["folder of what passes"] == "a place of its own, can't be written to (error 13)"


def test_a_coarse_clock_shows(monkeypatch):
    """Windows' own goes in steps of 1/64 s."""
    times = iter([0.0, 0.0, 1 / 64] * system.TICKS)
    assert system._tick_us(lambda: next(times)) == 15625
