"""Which way a surface has to go: the directions every pilot says aloud (trade practice, no source)."""

import pytest
from scipy.spatial.transform import Rotation

from hingeline.checks.direction import commands, is_away, judge_direction
from hingeline.rig.kinds import KINDS
from hingeline.rig.surface import Surface


def surface(kind: str, dihedral: int = 0) -> Surface:
    return Surface.model_validate({"kind": kind, "sides": ("left", "right"), "dihedral": f"{dihedral} deg"})


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_commands(kind):
    assert commands(surface(kind))


def test_right_stick_right_aileron_up(bench):
    (command,) = commands(surface("aileron"))
    neutral = bench.neutral()
    near, right_way, both_down, other_way = (
        neutral.deflections(bench.rest(left=left_deg, right=right_deg))
        for left_deg, right_deg in ((0.5, -0.5), (-8.0, 8.0), (-8.0, -8.0), (8.0, -8.0))
    )
    assert not is_away(near)
    assert is_away(right_way)
    assert judge_direction("aileron", command, right_way).inside
    reading = judge_direction("aileron", command, both_down)
    assert reading.sides["left"].right_way
    assert not reading.inside
    swapped = judge_direction("aileron", command, other_way)
    assert any("swapped" in cause for cause in swapped.candidates)


def test_a_side_that_stays_is_not_right(bench):
    (command,) = commands(surface("elevator"))
    deflections = bench.neutral().deflections(bench.rest(left=8.0, right=0.0))
    reading = judge_direction("elevator", command, deflections)
    assert not reading.inside
    assert reading.sides["right"].went == "nowhere"


@pytest.mark.parametrize("dihedral", [35, -35])
def test_a_v_tail_goes_right_with_right_rudder(dihedral):
    """The trailing edge of a panel, turned about its hinge, must come to lie farther right: by the geometry itself."""
    _, rudder = commands(surface("v-tail", dihedral))
    for side, tip in (("left", 1.0), ("right", -1.0)):  # world X is to the left: DEVELOPERS.md
        raised = Rotation.from_euler("y", -tip * dihedral, degrees=True)
        turned = raised * Rotation.from_euler("x", 10.0 * rudder.signs[side], degrees=True)
        assert turned.apply([0.0, 1.0, 0.0])[0] < -0.05


@pytest.mark.parametrize(("deg", "is_moved"), [(1.8, False), (-1.8, False), (2.2, True), (-2.2, True)])
def test_less_than_two_degrees_is_no_movement(bench, deg, is_moved):
    """Common practice, no source; a reading is known to some hundredths."""
    deflections = bench.neutral().deflections(bench.rest(left=deg, right=0.0))
    assert is_away(deflections) is is_moved
    went = judge_direction("elevator", commands(surface("elevator"))[0], deflections).sides["left"].went
    assert went == (("up" if deg > 0 else "down") if is_moved else "nowhere")
