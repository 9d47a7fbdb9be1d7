"""The datum: all sensors laid on one flat, and turned on request."""

import math
from types import SimpleNamespace

import pytest
from tests.host.procedures.scene import Scene, after

from hingeline.procedures.datum import HOLD_S, LaidDatum, LayDown
from hingeline.procedures.procedure import Taken
from hingeline_calibration.budget import Budget
from hingeline_calibration.datum import CLOSURE, LEVEL

LAY = "Lay {} on one flat, edges parallel, arrows the same way; let go."
TURN = "Turn each end for end on its spot, so that every arrow points the other way; let go."


def test_sensors_are_laid_once():
    scene = Scene("left", "right")
    lay = LayDown(scene.ids)
    assert lay.step.ask == LAY.format("2 sensors")
    assert (lay.step.sensors, lay.step.hold_s) == (scene.ids, HOLD_S)
    laid = scene.rests()
    following = lay.after(Taken(laid))
    assert (following.taken, following.results) == ("the first laying", ())
    assert following.procedure.step is None
    assert (following.procedure.laid, following.procedure.turned) == (laid, None)


def test_one_sensor_is_one():
    assert LayDown(("b-left",)).step.ask == LAY.format("1 sensor")


def test_every_sensor_is_turned_on_request():
    scene = Scene("left", "right")
    laid, turned = scene.rests(), scene.rests()
    lay = after(LayDown(scene.ids, reversal=True), Taken(laid))
    assert (lay.step.ask, lay.step.hold_s) == (TURN, HOLD_S)
    assert lay.step.all_moved, "a sensor that was not turned is no reading"
    following = lay.after(Taken(turned))
    assert (following.taken, following.procedure.step) == ("the turned laying", None)
    assert (following.procedure.laid, following.procedure.turned) == (laid, turned)


def test_a_laying_taken_back_has_never_been():
    """The flat was knocked as they were laid, or one was turned the wrong way."""
    scene = Scene("left", "right")
    begun = LayDown(scene.ids, reversal=True)
    knocked, laid, wrong, turned = (Taken(scene.rests()) for _ in range(4))
    begun.after(knocked)
    assert begun.step.ask == LAY.format("2 sensors")
    lay = after(begun, laid)
    lay.after(wrong)
    assert (lay.step.ask, lay.turned) == (TURN, None)
    lay = after(lay, turned)
    assert (lay.laid, lay.turned) == (laid.readings, turned.readings)


LEVEL_SD, NOISE_SD, CARRIER_SD, CLOSURE_SD = 0.1, 0.03, 0.02, 0.05


def laid_datum(drift_deg):
    """A datum whose sources of uncertainty are written out, in degrees."""
    sources = {"datum": NOISE_SD, "carrier": CARRIER_SD, CLOSURE: CLOSURE_SD, LEVEL: LEVEL_SD}
    angle = SimpleNamespace(budget=Budget.of(sources.items()))
    datum = SimpleNamespace(angle=lambda *_: angle, gravity={"a": None}, drift_deg=drift_deg)
    return LaidDatum(datum, {"a": None}, True)


@pytest.mark.parametrize(
    ("options", "sources"),
    [
        ({}, (NOISE_SD, CARRIER_SD)),
        ({"layings": 2}, (NOISE_SD, NOISE_SD, CARRIER_SD)),
        ({"level": True}, (NOISE_SD, CARRIER_SD, LEVEL_SD)),
    ],
)
def test_how_well_a_laying_is_known(options, sources):
    """Independent sources add as squares (GUM 5.1.2), 95 % are 1.96 of it; two layings have the noise of two."""
    assert laid_datum({}).reach_deg("a", **options) == pytest.approx(1.96 * math.hypot(*sources), rel=1e-3)


@pytest.mark.parametrize(
    ("drift_deg", "elsewhere"), [((2.0, -1.5), True), ((2.0, 0.5), False), ((0.1, 0.1), False), ((-1.05, 1.1), True)]
)
def test_sensors_that_all_drifted_by_a_degree_lie_elsewhere(drift_deg, elsewhere):
    assert laid_datum(dict(zip("ab", drift_deg, strict=True))).lies_elsewhere is elsewhere
