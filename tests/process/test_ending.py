"""How a command ends: one line and a status of the documented ones, whatever was wrong with its streams, its files or
itself.
"""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from tests.posix import needs_posix

from hingeline.demo.job import SHEET
from hingeline.storage.sealed import seal

GOLDEN = Path(__file__).parents[1] / "data" / "formats" / "1" / "home"
CALIBRATION = GOLDEN / "calibration" / "e66166d8e325-104" / "calibration-0001-2025-09-14.json"
HINGELINE = [sys.executable, "-m", "hingeline"]


def run(home, *arguments, program=None, **options):
    """Run a command; `program` in its place, which may break something first."""
    return subprocess.run(
        [sys.executable, "-c", program, *arguments] if program else [*HINGELINE, *arguments],
        env={**os.environ, "HINGELINE_HOME": str(home), **options.pop("env", {})},
        stdout=options.pop("stdout", subprocess.PIPE),
        stderr=options.pop("stderr", subprocess.PIPE),
        check=False,
        timeout=60,
        **options,
    )


@pytest.mark.parametrize("encoding", ["ascii", "cp437", "cp1252", "utf-8"])
@pytest.mark.parametrize("arguments", [("rig", "show"), ("rig", "check"), ("calibration", "show", "104"), ("--help",)])
def test_every_letter_goes_out_on_every_encoding(tmp_path, encoding, arguments):
    """The sheet's aircraft has letters and signs that none but the last has all of."""
    sheet = tmp_path / "z.rig.toml"
    sheet.write_text(re.sub('aircraft = ".*"', 'aircraft = "Żuraw → ±5°"', SHEET.read_text("utf-8")), "utf-8")
    named = [*arguments, str(sheet)] if arguments[0] == "rig" else arguments
    done = run(GOLDEN, *named, env={"PYTHONIOENCODING": encoding})
    assert (done.returncode, done.stderr) == (0, b"")
    text = done.stdout.decode(encoding)
    if arguments == ("rig", "show"):
        assert {"ascii": "Zuraw -> +-5 deg", "cp437": "Zuraw -> ±5°", "cp1252": "Zuraw -> ±5°"}.get(
            encoding, "Żuraw → ±5°"
        ) in text


@needs_posix("sh, which closes a stream")
@pytest.mark.parametrize("closed", [">&-", "<&-", "2>&-", ">&- 2>&-", "<&- >&- 2>&-", ">/dev/full", "2>/dev/full"])
@pytest.mark.parametrize("command", ["sessions", "--help", "nonsense", "rig show nowhere"])
def test_a_stream_that_is_closed_or_full_is_no_traceback(tmp_path, command, closed):
    shell = f'"{sys.executable}" -m hingeline {command} {closed}'
    env = {**os.environ, "HINGELINE_HOME": str(tmp_path)}
    done = subprocess.run(["sh", "-c", shell], env=env, capture_output=True, text=True, check=False, timeout=60)
    assert done.returncode == (2 if "no" in command or closed == ">/dev/full" else 0)
    assert "Traceback" not in done.stderr
    if closed == ">/dev/full" and "no" not in command:
        text = "hingeline: Standard output was not written: the disk is full. Send it elsewhere.\n"
        assert done.stderr.endswith(text)


BROKEN = """
import sys
from hingeline.rig import show
def sheet_text(sheet):
    {fault}
show.sheet_text = sheet_text
from hingeline.cli import main
main()
"""


@pytest.mark.parametrize("fault", ["raise KeyError('chord')", "sheet_text(sheet)", "raise MemoryError"])
def test_what_nobody_foresaw_is_one_line_and_a_report(tmp_path, fault):
    """70 is EX_SOFTWARE of sysexits.h: an internal software error."""
    done = run(tmp_path, "rig", "show", str(SHEET), program=BROKEN.format(fault=fault))
    (line,) = done.stderr.decode().splitlines()
    assert done.returncode == 70
    assert done.stdout == b""
    assert line.startswith("hingeline: This is a fault of hingeline itself: ")
    (report,) = tmp_path.glob("hingeline-fault-*.txt")
    assert str(report) in line
    text = report.read_text("utf-8")
    assert "Traceback" in text
    assert f"Python {sys.version.split()[0]}" in text
    assert "rig show" in text


def test_a_fault_is_told_in_json_too(tmp_path):
    done = run(tmp_path, "rig", "show", str(SHEET), "--json", program=BROKEN.format(fault="raise KeyError"))
    assert json.loads(done.stdout)["exit_status"] == done.returncode == 70


THREAD = """
import threading, time
from hingeline.rig import show
def sheet_text(sheet):
    threading.Thread(target=lambda: 1 / 0).start()
    time.sleep(30)
show.sheet_text = sheet_text
from hingeline.cli import main
main()
"""


def test_a_thread_that_fails_ends_the_command(tmp_path):
    done = run(tmp_path, "rig", "show", str(SHEET), program=THREAD)
    assert done.returncode == 70
    assert "ZeroDivisionError" in done.stderr.decode()
    assert "Traceback" not in done.stderr.decode()


@pytest.mark.parametrize(
    "change",
    [
        {"placements": [["zz", 0.0]] * 12},
        {"placements": [[None, None]] * 12},
        {"table_tilt_deg": {"zz": [0, 0, 0, 0]}},
        {"table_tilt_deg": {}},
        {"squareness_deg": {}},
        {"covariance_parts": {}},
    ],
)
def test_a_forged_calibration_is_refused_where_it_comes_in(tmp_path, change):
    """Its faces are those of a carrier, the same throughout; and without covariance it would be exact."""
    payload = {**json.loads(CALIBRATION.read_text())["payload"], **change}
    (tmp_path / "forged.json").write_bytes(seal("calibration", "e66166d8e325-104", payload))
    done = run(tmp_path / "home", "calibration", "import", str(tmp_path / "forged.json"))
    assert (done.returncode, done.stderr.count(b"\n")) == (2, 1)


def test_a_key_of_three_thousand_names_is_none_of_a_sheet(tmp_path):
    sheet = tmp_path / "z.rig.toml"
    sheet.write_bytes(SHEET.read_bytes())
    done = run(tmp_path, "rig", "set", str(sheet), ".".join("a" * 3000), "3")
    assert done.returncode == 2
    assert done.stderr.decode().startswith("hingeline: found a key of 3000 names, expected up to 8.")
