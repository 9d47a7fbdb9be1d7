"""Centring: returns to neutral, counted by the way they came from."""

import numpy as np
import pytest
from tests.host.procedures.scene import Scene, after, through

from hingeline.checks.centring import spread_of
from hingeline.errors import NotMeasurable
from hingeline.procedures.centring import RESTLESS, Centring

SHEET = """
[surface.flap]
throws.normal = { up = "20 deg", down = "20 deg" }
"""
ASK = "flap: {} with the left side, let it come back, leave it a second; {} of 2 from above, {} from below."
FRICTION_DEG = 0.3


@pytest.fixture
def scene():
    return Scene("left", "right")


@pytest.fixture
def begun(sheet_of, scene):
    centring = Centring(sheet_of(SHEET), "flap", scene.instruments, limit_deg=0.2, times=2)
    assert centring.step.ask == "flap: sticks centred, hands off."
    return after(centring, scene.still(left=0.0, right=0.0))


def back_from(scene, peak_deg, left_deg=0.0):
    """Both sides go away and come back, the left one to rest at an angle."""
    left = np.concatenate([through(0, peak_deg), through(peak_deg, left_deg)])
    return scene.goes(left=left, right=through(0, peak_deg, 0))


def test_each_way_is_asked_for_in_turn_until_both_have_enough(begun, scene):
    """The left hinge is stiff: from above it stops above."""
    centring, asked, names = begun, [], []
    for peak_deg in (10, -10, 10, -10):
        asked.append(centring.step.ask)
        assert not centring.step.can_stand, "no return is told from a surface that stands"
        assert centring.step.restless == RESTLESS
        following = centring.after(back_from(scene, peak_deg, np.sign(peak_deg) * FRICTION_DEG / 2))
        names.append(following.taken)
        centring = following.procedure
    assert asked == [ASK.format(*counts) for counts in (("up", 0, 0), ("down", 1, 0), ("up", 1, 1), ("down", 2, 1))]
    assert names == ["return 1", "return 2", "return 3", "return 4"]
    assert centring.step is None
    found = {finding.name: finding for finding in centring.result.results}
    assert found["left, hysteresis"].value == pytest.approx(FRICTION_DEG, abs=0.1)
    assert not found["left, hysteresis"].inside
    assert found["right, hysteresis"].inside


def test_the_way_a_side_comes_from_counts_not_the_way_that_was_asked_for(begun, scene):
    following = begun.after(back_from(scene, -10))
    assert following.procedure.step.ask == ASK.format("up", 0, 1)


@pytest.mark.parametrize(
    "courses",
    [pytest.param(through(0, 1.5, 0), id="a knock"), pytest.param(through(0, 10), id="held away")],
)
def test_a_rest_that_is_no_return_is_passed_over(begun, scene, courses):
    following = begun.after(scene.goes(left=courses, right=courses))
    assert (following.taken, following.messages, following.procedure.returns) == ("", (), begun.returns)


def test_what_is_held_away_and_then_let_go_is_a_return(begun, scene):
    away, home = through(0, 10), through(10, 0)
    held = begun.after(scene.goes(left=away, right=away)).procedure
    following = held.after(scene.goes(left=home, right=home))
    assert following.taken == "return 1"
    assert following.procedure.step.ask == ASK.format("down", 1, 0)


def test_a_key_before_anything_has_moved_is_no_return(begun, scene):
    following = begun.after(scene.still(moved=False, confirmed=True))
    assert (following.taken, following.procedure.step.ask) == ("", ASK.format("up", 0, 0))


def test_a_return_taken_back_has_never_been(begun, scene):
    """A finger was on the surface as it came back."""
    mistaken = begun.after(back_from(scene, 10, 2.0))
    assert mistaken.taken == "return 1"
    assert begun.step.ask == ASK.format("up", 0, 0)
    centring = after(begun, *(back_from(scene, peak_deg) for peak_deg in (10, -10, 10, -10)))
    assert centring.result.inside
    assert centring.result.rests_deg["left"]["from above"] == pytest.approx([0, 0], abs=0.1)
    wrong = after(mistaken.procedure, *(back_from(scene, peak_deg) for peak_deg in (-10, 10, -10)))
    assert not wrong.result.inside


def test_a_sensor_upside_down_is_refused_at_neutral(sheet_of, scene):
    scene.on_its_head.add("left")
    with pytest.raises(NotMeasurable, match="upside down"):
        Centring(sheet_of(SHEET), "flap", scene.instruments).after(scene.still(left=0.0, right=0.0))


@pytest.mark.parametrize("throw_deg", [2.7, 3.0])
def test_a_surface_with_small_throws_is_away_sooner(sheet_of, scene, throw_deg):
    """A stick held at 3° is no return to neutral, and 2.7° are a movement."""
    sheet = sheet_of(f'[surface.flap]\nthrows.normal = {{ up = "{throw_deg} deg", down = "{throw_deg} deg" }}')
    centring = after(Centring(sheet, "flap", scene.instruments, limit_deg=0.2, times=3), scene.still(left=0, right=0))
    for peak_deg in 3 * (throw_deg, -throw_deg):
        held = through(0, peak_deg)
        centring = after(centring, scene.goes(left=held, right=held))
        home = through(peak_deg, 0)
        centring = after(centring, scene.goes(left=home, right=home))
    results = {result.name: result for result in centring.result.results}
    assert all(result.inside for result in results.values())
    assert results["left, hysteresis"].value == pytest.approx(0.0, abs=0.1)


def test_the_spread_is_a_standard_deviation_with_its_own_uncertainty():
    """Of n draws of one deviation s each way, the estimate scatters by s/√(2ν): against 4000 simulated checks."""
    rng, s, count = np.random.default_rng(12), 0.08, 5
    estimates = np.array([spread_of(rng.normal(0.0, s, (2, count))) for _ in range(4000)])
    assert np.sqrt(np.mean(estimates[:, 0] ** 2)) == pytest.approx(s, rel=0.02)
    assert np.std(estimates[:, 0]) == pytest.approx(s / np.sqrt(2 * 2 * (count - 1)), rel=0.05)
    assert spread_of(np.array([[0.0, 0.2], [0.0, 0.2]])) == pytest.approx((0.1414, 0.0707), abs=1e-4)
