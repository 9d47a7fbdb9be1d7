"""What another program planted, removed or writes meanwhile: a link, a pipe, a device, a file without end."""

import subprocess
import sys
import threading
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.posix import posix
from tests.process.saves import GOLDEN, SENSOR

from hingeline.cli import cli
from hingeline.errors import FileError, StoreError
from hingeline.files.whole import write_whole
from hingeline.rig import load_sheet
from hingeline.storage.records import read
from hingeline.storage.sealed import seal
from hingeline.storage.sessions import all_runs
from hingeline.storage.store import Store
from hingeline_virtual.scenario_file import load_scenario

PAGE = b"page " * 1000
ENTRY = "calibration-0001-2026-05-17.json"


def read_entry(path: Path) -> None:
    """Read a file as the entry of a store."""
    place = path.parent / "home" / "calibration" / SENSOR / ENTRY
    place.parent.mkdir(parents=True)
    path.rename(place)
    Store(path.parent / "home").load("calibration", SENSOR)


def import_file(path: Path) -> tuple[int, str]:
    """Import a calibration; return the exit status and what is told."""
    outcome = CliRunner().invoke(cli, ["calibration", "import", str(path)], standalone_mode=False)
    return outcome.return_value or 0, outcome.stderr


READERS = {
    "sheet": load_sheet,
    "scenario": load_scenario,
    "entry": read_entry,
    "log": lambda path: list(read(path)),
}


@pytest.mark.parametrize("reader", READERS)
def test_a_pipe_is_refused_and_keeps_nobody_waiting(tmp_path, reader):
    posix.mkfifo(tmp_path / "pipe")
    with pytest.raises((FileError, StoreError), match="can't be read: it is no ordinary file"):
        READERS[reader](tmp_path / "pipe")


@pytest.mark.parametrize("reader", READERS)
def test_a_device_without_end_is_refused(tmp_path, reader):
    posix.symlink("/dev/zero", tmp_path / "endless")
    with pytest.raises((FileError, StoreError), match="can't be read: it is no ordinary file"):
        READERS[reader](tmp_path / "endless")


@pytest.mark.parametrize("reader", READERS)
def test_of_a_file_that_is_too_long_nothing_is_read(tmp_path, reader):
    """It takes no room on the disk: read whole it would take 8 GB of memory."""
    with open(tmp_path / "long", "wb") as file:
        file.truncate(8_000_000_000)
    with pytest.raises((FileError, StoreError), match=r"can't be read: it is longer than \d+ bytes"):
        READERS[reader](tmp_path / "long")


def test_a_pipe_to_import_is_refused(tmp_path, monkeypatch):
    monkeypatch.setenv("HINGELINE_HOME", str(tmp_path / "home"))
    posix.mkfifo(tmp_path / "pipe")
    status, told = import_file(tmp_path / "pipe")
    assert status == 2
    assert "can't be read: it is no ordinary file" in told


def test_a_pipe_among_the_runs_is_left_out_and_told(tmp_path):
    folder = tmp_path / "sessions" / "Heron" / "2026-05-17_10-00-00"
    folder.mkdir(parents=True)
    posix.mkfifo(folder / "1-throws.log")
    left_out = []
    assert all_runs(tmp_path, lambda path, text: left_out.append(text)) == []
    assert len(left_out) == 1
    assert "it is no ordinary file" in left_out[0]


@pytest.mark.parametrize("planted", [".page.html.new", ".page.html.0.new"])
def test_a_link_that_was_planted_is_not_followed(tmp_path, planted):
    victim, page = tmp_path / "victim", tmp_path / "page.html"
    victim.write_text("precious")
    posix.symlink(victim, tmp_path / planted)
    write_whole(page, PAGE)
    assert victim.read_text() == "precious"
    assert (page.read_bytes(), page.is_symlink()) == (PAGE, False)


def test_a_pipe_that_was_planted_keeps_no_writer_waiting(tmp_path):
    posix.mkfifo(tmp_path / ".page.html.new")
    writer = threading.Thread(target=write_whole, args=(tmp_path / "page.html", PAGE), daemon=True)
    writer.start()
    writer.join(10)
    assert (tmp_path / "page.html").read_bytes() == PAGE


WRITER = """
import sys
from pathlib import Path
from hingeline.files.whole import write_whole
for _ in range(50):
    write_whole(Path(sys.argv[1]), sys.argv[2].encode() * 100_000)
"""


def test_four_writers_of_one_file_all_succeed_in_turn(tmp_path):
    path = tmp_path / "page.html"
    command = [sys.executable, "-c", WRITER, str(path)]
    writers = [subprocess.Popen([*command, letter], stderr=subprocess.PIPE, text=True) for letter in "abcd"]
    told = [writer.communicate()[1] for writer in writers]
    assert told == 4 * [""]
    assert [writer.returncode for writer in writers] == 4 * [0]
    content = path.read_bytes()
    assert content in [letter * 100_000 for letter in (b"a", b"b", b"c", b"d")]
    assert [left.name for left in tmp_path.iterdir()] == ["page.html"]


EDITOR = """
import sys
from pathlib import Path
from hingeline.storage.sheets import edit_sheet
for mm in range(41, 61):
    edit_sheet(Path(sys.argv[1]), ("surface", *sys.argv[2:]), f"{mm} mm")
"""


def test_four_edits_of_one_sheet_at_once_are_all_in_it(tmp_path):
    path = tmp_path / "lantern.rig.toml"
    path.write_bytes((GOLDEN / "lantern.rig.toml").read_bytes())
    keys = [(surface, key) for surface in ("flap", "elevator") for key in ("chord", "station")]
    editors = [subprocess.Popen([sys.executable, "-c", EDITOR, str(path), *key]) for key in keys]
    assert [editor.wait() for editor in editors] == 4 * [0]
    text = path.read_text()
    assert (text.count('chord = "60 mm"'), text.count('station = "60 mm"')) == (2, 2)


def test_a_calibration_whose_key_is_another_s_is_not_imported(tmp_path, monkeypatch):
    """Somebody put the calibration of one sensor under the name of another, and sealed it again."""
    monkeypatch.setenv("HINGELINE_HOME", str(tmp_path / "home"))
    payload = Store(GOLDEN / "home").load("calibration", SENSOR)
    (tmp_path / "forged.json").write_bytes(seal("calibration", "e66166d8e325-999", payload))
    status, told = import_file(tmp_path / "forged.json")
    assert status == 2
    assert f"names two sensors, expected one: sensor e66166d8e325-999 outside, {SENSOR} inside" in told
    assert Store(tmp_path / "home").keys("calibration") == ()
    (tmp_path / "whole.json").write_bytes(seal("calibration", SENSOR, payload))
    assert import_file(tmp_path / "whole.json")[0] == 0
    assert Store(tmp_path / "home").keys("calibration") == (SENSOR,)
