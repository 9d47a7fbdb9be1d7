"""Every state of the job, with the command that comes next, as somebody at the bench would name it."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from hingeline.checks.positions import Measure
from hingeline.demo.job import SHEET
from hingeline.device.samples import SensorInfo
from hingeline.errors import CopiesDiffer, NoBoard, SheetError, WrongFirmware
from hingeline.procedures.progress import Progress, SessionProgress, next_step
from hingeline.rig import load_sheet

NOW, EARLIER, YESTERDAY = "2026-05-17T10:00:00+00:00", "2026-05-17T08:00:00+00:00", "2026-05-16T08:00:00+00:00"
NEUTRAL, THROWS = Measure("neutral", "flap"), Measure("throws", "flap")
MOSS = {Path("my moss.rig.toml"): load_sheet(SHEET)}
WRONG = {Path("b.rig.toml"): SheetError("modes: missing", "Add it")}


def sensor(name, state="ok"):
    return SensorInfo(name, "pico", "COM3", "mpu6050", 0, 104, 16384, 200, 44, "absolute", state)


def datum(holds=None, sensors="ab", date=NOW):
    return SimpleNamespace(date=date, gravity=dict.fromkeys(sensors), holds=holds)


def session(missing, out=(), last=EARLIER):
    return SessionProgress("Moss Lantern", "2026-05-17", last, ("neutral",), missing, out)


PLUGGED = {"boards": ("pico at COM3",), "sensors": (sensor("a"), sensor("b"))}
READY = {**PLUGGED, "calibrated": {"a": EARLIER, "b": EARLIER}, "sides": {"left": "a", "right": "b"}}
ON_THE_FLAT = {**READY, "datum": datum()}
AT_THE_MODEL = {**ON_THE_FLAT, "sheets": MOSS}


@pytest.mark.parametrize(
    ("fields", "command"),
    [
        ({"trouble": WrongFirmware("x", "Install"), **READY}, "install"),
        ({"trouble": CopiesDiffer("x", "Choose")}, "calibration list"),
        ({"trouble": NoBoard("x", "Press reset")}, "doctor"),
        ({}, "demo"),
        ({"sheets": MOSS}, "demo"),
        ({"sheets": WRONG}, "rig check b.rig.toml"),
        ({"calibrated": {"a": EARLIER}, "sheets": WRONG}, "rig check b.rig.toml"),
        ({"calibrated": {"a": EARLIER}}, "boards"),
        ({"session": session((NEUTRAL,))}, "boards"),
        ({"session": session(())}, "report 'Moss Lantern'"),
        ({"session": session((NEUTRAL,), last=YESTERDAY)}, "demo"),
        ({"session": session((NEUTRAL,), last=YESTERDAY), "calibrated": {"a": EARLIER}}, "boards"),
        ({**PLUGGED, "sensors": ()}, "doctor"),
        ({**PLUGGED, "sensors": (sensor("a"), sensor("b", "absent"))}, "doctor"),
        (PLUGGED, "calibrate"),
        ({**PLUGGED, "calibrated": {"a": EARLIER}}, "calibrate"),
        ({**READY, "sides": {}}, "wiggle"),
        ({**READY, "sides": {"left": "a", "right": "elsewhere"}}, "wiggle"),
        ({**READY, "sensors": (sensor("a"),), "sides": {}}, "datum"),  # a rudder needs one
        (READY, "datum"),
        ({**READY, "datum": datum(date=YESTERDAY)}, "datum"),
        ({**READY, "datum": datum(sensors="a")}, "datum"),
        ({**READY, "datum": datum(holds=False), "sheets": MOSS}, "datum"),
        ({**READY, "sheets": MOSS}, "setup 'my moss.rig.toml'"),
        ({**READY, "sheets": WRONG}, "datum"),
        ({**READY, "sheets": MOSS, "datum": datum(date=YESTERDAY)}, "setup 'my moss.rig.toml'"),
        ({**READY, "sheets": MOSS, "session": session((THROWS,), last=YESTERDAY)}, "setup 'my moss.rig.toml'"),
        ({**READY, "sheets": MOSS, "session": session((THROWS,))}, "datum"),
        (ON_THE_FLAT, "rig new lantern.rig.toml"),
        ({**ON_THE_FLAT, "sheets": WRONG}, "rig check b.rig.toml"),
        ({**ON_THE_FLAT, "sheets": {**WRONG, **MOSS}}, "neutral 'my moss.rig.toml' flap"),
        (AT_THE_MODEL, "neutral 'my moss.rig.toml' flap"),
        ({**AT_THE_MODEL, "session": session((THROWS,))}, "throws 'my moss.rig.toml' flap"),
        ({**AT_THE_MODEL, "session": session((THROWS,), (THROWS,))}, "throws 'my moss.rig.toml' flap"),
        ({**AT_THE_MODEL, "session": session((NEUTRAL, THROWS), (THROWS,))}, "neutral 'my moss.rig.toml' flap"),
        ({**AT_THE_MODEL, "session": session((THROWS,), last=YESTERDAY)}, "neutral 'my moss.rig.toml' flap"),
        ({**AT_THE_MODEL, "session": session(None)}, "neutral 'my moss.rig.toml' flap"),
        ({**AT_THE_MODEL, "session": session(())}, "drift-check"),
        ({**AT_THE_MODEL, "datum": datum(holds=True), "session": session(())}, "report 'Moss Lantern'"),
    ],
)
def test_the_next_command(fields, command):
    assert next_step(Progress(NOW, **fields)).command == f"hingeline {command}"


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({**PLUGGED, "calibrated": {"a": EARLIER}}, "Calibrate on a flat table: b."),
        ({"trouble": NoBoard("x", "Press reset")}, "Press reset."),
        ({**AT_THE_MODEL, "session": session((THROWS,), (THROWS,))}, "The flap was out of the tolerance"),
        ({**AT_THE_MODEL, "session": session((THROWS,))}, "Check the throws of the flap."),
        ({**READY, "sheets": MOSS}, "Set up Moss Lantern in one sitting"),
        (AT_THE_MODEL, "Tape the sensors on the flap and set its neutral."),
    ],
)
def test_why(fields, reason):
    assert next_step(Progress(NOW, **fields)).reason.startswith(reason)
