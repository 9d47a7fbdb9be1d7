"""The datum: all sensors laid on one flat, and turned on request."""

from tests.host.procedures.scene import Scene, after

from hingeline.procedures.datum import HOLD_S, LayDown
from hingeline.procedures.procedure import Taken

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
