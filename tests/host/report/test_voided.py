"""A neutral that was measured before the hinge was found is none."""

from hingeline.checks.results import HingeResult, NeutralResult, surfaces_void
from hingeline_calibration.hinge import HingeAxis

FLAP, TAB = NeutralResult("flap", ()), NeutralResult("tab", ())


def found(surface, used_yaw_deg=None, beyond=False):
    return HingeResult(surface, "left", "b-0", 8.0, beyond, HingeAxis(), used_yaw_deg)


def test_the_neutral_before_the_first_stroke_is_void_until_it_is_measured_again():
    assert surfaces_void([FLAP, TAB, found("flap")]) == {"flap"}
    assert surfaces_void([FLAP, found("flap"), FLAP]) == set()
    assert surfaces_void([found("flap"), FLAP]) == set()


def test_a_hinge_that_is_found_again_where_it_was_voids_nothing():
    assert surfaces_void([found("flap"), FLAP, found("flap", used_yaw_deg=8.1)]) == set()
    assert surfaces_void([found("flap"), FLAP, found("flap", used_yaw_deg=2.0, beyond=True)]) == {"flap"}
