"""What `hingeline here` tells in words, row by row."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from hingeline.checks.positions import Measure
from hingeline.cli.progress import progress_rows
from hingeline.demo.job import SHEET
from hingeline.device.samples import SensorInfo
from hingeline.errors import NoBoard, SheetError
from hingeline.procedures.progress import Progress, SessionProgress
from hingeline.rig import load_sheet

NOW, MORNING, YESTERDAY = "2026-05-17T10:00:00+00:00", "2026-05-17T08:00:00+00:00", "2026-05-16T08:00:00+00:00"


def sensor(name, state="ok"):
    return SensorInfo(name, "pico", "COM3", "mpu6050", 0, 104, 16384, 200, 44, "absolute", state)


TWO = (sensor("a"), sensor("b"))
CALIBRATED = {"a": YESTERDAY, "b": MORNING}


def datum(date=NOW, sensors="ab", holds=None):
    return SimpleNamespace(date=date, gravity=dict.fromkeys(sensors), holds=holds)


def rows(**fields):
    return progress_rows(Progress(NOW, **fields))


def test_of_nothing_there_is_nothing():
    assert rows() == {
        "boards": "none plugged in",
        "sensors": "none calibrated",
        "sides": "not known",
        "datum": "none",
        "sheets": "none in this folder",
        "session": "none recorded",
    }


@pytest.mark.parametrize(
    ("fields", "text"),
    [
        ({"boards": ("pico at COM3", "esp32 at COM4")}, "pico at COM3, esp32 at COM4"),
        (
            {"boards": (), "trouble": NoBoard("COM3 opens, but nothing answers", "Press reset")},
            "COM3 opens, but nothing answers",
        ),
    ],
)
def test_boards_or_what_keeps_them_from_answering(fields, text):
    assert rows(**fields)["boards"] == text


@pytest.mark.parametrize(
    ("sensors", "calibrated", "text"),
    [
        ((), CALIBRATED, "2 calibrated, the last on 2026-05-17"),
        (TWO, CALIBRATED, "2 plugged in, calibrated"),
        (TWO, {"a": NOW}, "2 plugged in, not calibrated: b"),
        ((TWO[0], sensor("b", "absent")), CALIBRATED, "2 plugged in, not working: b, calibrated"),
        ((sensor("a", "absent"),), {}, "1 plugged in, not working: a"),
    ],
)
def test_sensors(sensors, calibrated, text):
    assert rows(sensors=sensors, calibrated=calibrated)["sensors"] == text


@pytest.mark.parametrize(
    ("taken", "sensors", "text"),
    [
        (datum(), TWO, "of 2026-05-17"),
        (datum(holds=True), TWO, "of 2026-05-17, drift checked"),
        (datum(holds=False), TWO, "of 2026-05-17, does not hold"),
        (datum(date=YESTERDAY), (), "of 2026-05-16"),
        (datum(date=YESTERDAY), TWO, "of 2026-05-16: another session, other sensors, or older than a calibration"),
        (datum(sensors="a"), TWO, "of 2026-05-17: another session, other sensors, or older than a calibration"),
        (datum(sensors="abc"), TWO, "of 2026-05-17"),
        (datum(date=MORNING), TWO, "of 2026-05-17"),  # as old as a calibration: taken after it
        (
            datum(date="2026-05-17T07:59:59+00:00"),
            TWO,
            "of 2026-05-17: another session, other sensors, or older than a calibration",
        ),
    ],
)
def test_a_datum_counts_in_its_session_for_its_sensors_and_from_their_calibrations_on(taken, sensors, text):
    assert rows(datum=taken, sensors=sensors, calibrated=CALIBRATED)["datum"] == text


def test_sides_and_sheets():
    sheet, wrong = load_sheet(SHEET), SheetError("modes: missing", "Add it")
    assert rows(sides={"left": "a", "right": "b"})["sides"] == "left a, right b"
    some = {Path("lantern.rig.toml"): sheet, Path("b.rig.toml"): wrong}
    assert rows(sheets=some)["sheets"] == "lantern.rig.toml (Moss Lantern), b.rig.toml (to fix)"
    three = {**some, Path("c.rig.toml"): wrong}
    assert "more" not in rows(sheets=three)["sheets"]
    assert rows(sheets={**three, Path("d"): wrong, Path("e"): wrong})["sheets"].endswith("c.rig.toml (to fix), 2 more")


@pytest.mark.parametrize(
    ("missing", "out", "text"),
    [
        (None, (), ""),
        ((), (), "; all within tolerance"),
        ((Measure("neutral", "flap"),), (), "; not measured yet: neutral flap"),
        (
            (Measure("neutral", "flap"), Measure("throws", "flap")),
            (Measure("throws", "flap"), Measure("play", "tab")),
            "; out of tolerance: throws flap, play tab; not measured yet: neutral flap",
        ),
    ],
)
def test_a_session_is_told_with_what_is_left(missing, out, text):
    session = SessionProgress("Moss Lantern", "2026-05-17", NOW, ("neutral", "throws"), missing, out)
    assert rows(session=session)["session"] == f"Moss Lantern on 2026-05-17: neutral, throws{text}"
