"""The parts of a set-up that decide: what is left to do, whether a datum is needed, sensors off the model."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from tests.host.procedures.scene import Scene, after

from hingeline.checks.results import DriftCheck
from hingeline.device.samples import SensorInfo
from hingeline.procedures.setup import OFF, SetUp, TakeOff, _needs_datum
from hingeline.storage.calibrations import save_datum
from hingeline.storage.store import Store
from hingeline_calibration.datum import Datum
from hingeline_calibration.gravity import Gravity

NOW, YESTERDAY = "2026-05-17T10:00:00+00:00", "2026-05-16T10:00:00+00:00"


@pytest.mark.parametrize(
    ("neutrals", "throws", "holds", "inside"),
    [
        ((True, True), (True, True), True, True),
        ((True, False), (True, True), True, False),
        ((True, True), (False, True), True, False),
        ((True, True), (True, True), False, False),
        ((), (), True, True),
    ],
)
def test_a_set_up_is_within_if_all_of_it_is(neutrals, throws, holds, inside):
    parts = [
        {name: SimpleNamespace(inside=value) for name, value in zip(("flap", "elevator"), values, strict=False)}
        for values in (neutrals, throws)
    ]
    assert SetUp(*parts, DriftCheck({}, NOW, holds)).inside is inside


def test_sensors_are_off_once_every_one_has_gone():
    scene = Scene("left", "right")
    off = TakeOff(scene.ids)
    assert (off.step.ask, off.step.all_moved) == ("Hands off for a moment.", False)
    off = after(off, scene.still(left=0.0, right=0.0))
    assert (off.step.ask, off.step.all_moved, off.step.can_stand) == (OFF, True, False)
    assert after(off, scene.still(left=30.0, right=30.0)).step is None


@pytest.mark.parametrize(
    ("date", "sensors", "holds", "is_needed"),
    [
        (None, "", None, True),
        (NOW, "ab", None, False),
        (NOW, "ab", True, False),
        (NOW, "abc", None, False),
        (NOW, "a", None, True),
        (NOW, "ab", False, True),
        (YESTERDAY, "ab", True, True),
    ],
)
def test_a_datum_is_needed_unless_one_of_this_session_holds_every_sensor(tmp_path, date, sensors, holds, is_needed):
    store = Store(tmp_path)
    if date:
        up = Gravity(np.array([0.0, 0.0, 1.0]), 1e-8 * np.eye(3), 22.0, 0.0, 2.0)
        datum = Datum.take(dict.fromkeys(sensors, up), date)
        if holds is not None:
            datum = replace(datum, drift_deg=dict.fromkeys(sensors, 0.0 if holds else 5.0))
        save_datum(store, datum)
    working = {
        name: SensorInfo(name, "pico", "COM3", "mpu6050", 0, 104, 16384, 200, 44, "absolute", "ok") for name in "ab"
    }
    runner = SimpleNamespace(store=store, sensors=working, started=NOW)
    assert _needs_datum(runner) is is_needed
