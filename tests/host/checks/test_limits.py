"""One fault beside its limit, droop, play and centring: figures by hand, on rests whose angles are given.

The noise of a rest of 50 lines is 0.15° over the root of 50, 0.02°.
"""

from dataclasses import replace

import numpy as np
import pytest
from tests.host.checks.conftest import LINES_HZ

from hingeline.checks.centring import CENTRING_DEG, CentringCheck
from hingeline.checks.droop import is_held, judge_droop
from hingeline.checks.limits import beside_limit, joined, limit_deg, repeating
from hingeline.checks.play import judge_play
from hingeline.checks.results import CheckResult
from hingeline.checks.values import LEFT_RIGHT
from hingeline.errors import NotMeasurable
from hingeline.measure.neutral import NeutralReading
from hingeline.rig import parse_sheet
from hingeline.rig.quantities import Measure
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection

SHEET = parse_sheet(
    """
schema_version = 1
aircraft = "Even"
modes = ["normal"]
convention = "height"
[tolerances]
profile = "glider"
[surface.flap]
chord = "50 mm"
[surface.rudder]
throws.normal = { left = "10 deg", right = "10 deg" }
""",
    "even",
)


@pytest.mark.parametrize(
    ("value", "expected", "inside", "close"),
    [
        (0.5, 0.0, True, True),
        (-0.5, 0.0, True, True),
        (0.1 + 0.2 + 0.2, 0.0, True, True),  # 0.5 and the last bit of a double
        (0.51, 0.0, False, True),
        (0.30, 0.0, True, False),
        (0.29, 0.0, True, False),
        (0.31, 0.0, True, True),
        (0.69, 0.0, False, True),
        (0.70, 0.0, False, False),
        (9.4, 10.0, False, True),
        (9.6, 10.0, True, True),
    ],
)
def test_a_value_beside_a_limit_of_a_half_known_to_a_fifth(value, expected, inside, close):
    """At 95 % it is known to 1.96 · 0.1."""
    result = beside_limit("it", value, 0.1, 0.5, ("a cause",), expected=expected)
    assert (result.inside, result.close, result.candidates) == (inside, close, () if inside else ("a cause",))
    assert result.interval_95 == pytest.approx((value - 0.196, value + 0.196))


def test_how_a_mean_repeats_adds_to_its_uncertainty():
    """1, 2 and 3 have the variance 1, their mean 1/3; one value alone tells nothing of it."""
    angle = Deflection(1.0, Budget.of([("noise", 0.5)]))
    repeated = dict(repeating(angle, [1, 2, 3], [4, 4], [7]).budget.items())
    assert repeated == {"noise": pytest.approx(0.5), "repeatability": pytest.approx(3**-0.5)}
    assert [row.source for row in repeating(angle, [7]).budget] == ["noise"]


def test_a_limit_in_mm_is_taken_at_the_chord():
    """1 mm at 50 mm is a fiftieth of a radian."""
    assert limit_deg(Measure(1.0, "mm"), 50.0, 100.0) == pytest.approx(1.1459, abs=1e-4)
    assert limit_deg(Measure(1.0, "mm"), None, 100.0) == pytest.approx(0.5730, abs=1e-4)
    assert limit_deg(Measure(0.7, "deg"), 50.0, 100.0) == 0.7


@pytest.mark.parametrize(("first", "second"), [(0.1, 0.1), (0.1, 0.9), (0.9, 0.1)])
def test_parts_of_a_check_are_inside_only_together(first, second):
    parts = [
        CheckResult.of("play", [beside_limit(name, value, 0.01, 0.5, ())], notes=(name,), rests_deg={name: {}})
        for name, value in (("left", first), ("right", second))
    ]
    joint = joined(parts)
    assert joint.inside is (first < 0.5 and second < 0.5)
    assert [result.name for result in joint.results] == ["left", "right"]
    assert (joint.notes, set(joint.rests_deg)) == (("left", "right"), {"left", "right"})


@pytest.mark.parametrize(("left", "right", "held"), [(5, 5, True), (-5, 5, True), (5, 2.7, False), (2.7, -5, False)])
def test_a_position_is_held_where_every_side_is_3_degrees_away(bench, left, right, held):
    assert is_held(bench.neutral(), bench.rest(left=left, right=right)) is held


def crept(bench, left_deg, right_deg, seconds=10):
    neutral, start = bench.neutral(), bench.rest(left=30.0, right=30.0)
    ends = {"left": left_deg, "right": right_deg}
    tracks = {
        each.sensor_id: bench.samples(each.side, np.linspace(30.0, ends[each.side], seconds * int(LINES_HZ)))
        for each in bench.sides
    }
    result = judge_droop(neutral, start, tracks)
    return {each.name: each for each in result.results}, result


def test_droop_is_from_the_start_to_the_last_two_seconds_of_each_side_and_between_them(bench):
    """Of 10 s the last two are at 9 s on average: nine tenths of the way."""
    droops, result = crept(bench, 28.0, 30.4)
    for name, value, inside in (("left", -1.8, False), ("right", 0.36, True), (LEFT_RIGHT, -2.16, False)):
        droop = droops[f"{name}, droop"]
        assert abs(droop.value - value) <= 4 * droop.standard_uncertainty < 0.2
        assert droop.inside is inside
    assert len(result.each_second_deg["left"]) == 10
    assert result.each_second_deg["left"][4] == pytest.approx(29.1, abs=0.1)


@pytest.mark.parametrize(("end_deg", "is_moved"), [(25.3, False), (34.6, False), (24.4, True), (35.6, True)])
def test_who_creeps_by_more_than_5_degrees_was_moved(bench, end_deg, is_moved):
    if not is_moved:
        crept(bench, end_deg, 30.0)
        return
    with pytest.raises(NotMeasurable, match=r"The left side went [-+]5\.\d° in second 10, expected less than 5°"):
        crept(bench, end_deg, 30.0)


def one_side(bench):
    """A neutral of the left side alone."""
    return NeutralReading(bench.sides[:1], bench.rest(left=0.0, right=0.0))


def play_of(bench, *cycles, surface="flap", limit=None):
    taken = [bench.rest(left=angle, right=0.0) for cycle in cycles for angle in cycle]
    return judge_play(SHEET, surface, one_side(bench), taken, limit)


def test_play_is_what_is_between_the_two_rests_that_were_let_go(bench):
    """0.6° at 50 mm are 0.52 mm square to the chord; a glider's limit is half a millimetre."""
    result = play_of(bench, (0.9, 0.3, -0.9, -0.3), (0.9, 0.3, -0.9, -0.3))
    (play,) = result.results
    assert (play.name, play.unit, play.limit) == ("left, play", "mm", 0.5)
    assert abs(play.value - 50 * np.sin(np.radians(0.6))) <= 4 * play.standard_uncertainty < 0.15
    assert float(result.notes[0].split("moves ")[1].split("°")[0]) == pytest.approx(1.8, abs=0.1)
    assert len(result.notes) == 2
    assert result.rests_deg["left"]["let go from below"] == pytest.approx((-0.3, -0.3), abs=0.12)


def test_how_far_all_releases_are_apart_is_told(bench):
    result = play_of(bench, (0.9, 0.5, -0.9, -0.1), (0.9, 0.1, -0.9, -0.7))
    range_deg = float(result.notes[1].split("within ")[1].split("°")[0])
    assert range_deg == pytest.approx(1.2, abs=0.15)


@pytest.mark.parametrize(("pushed_deg", "hides"), [(0.80, False), (1.0, True)])
def test_a_surface_that_moves_three_times_its_play_hides_it(bench, pushed_deg, hides):
    """Play of 0.6°: three times are 1.8°, ±0.9°."""
    result = play_of(bench, (pushed_deg, 0.3, -pushed_deg, -0.3))
    assert any("hides its play" in note for note in result.notes) is hides


def test_a_limit_in_degrees_or_a_surface_without_chord_is_judged_in_degrees(bench):
    (play,) = play_of(bench, (0.9, 0.3, -0.9, -0.3), limit=Measure(0.7, "deg")).results
    assert (play.unit, play.limit, play.inside) == ("deg", 0.7, True)
    (play,) = play_of(bench, (0.9, 0.3, -0.9, -0.3), surface="rudder").results
    assert (play.unit, play.limit) == ("deg", pytest.approx(np.degrees(0.5 / 50)))


def returned(bench, check, from_deg, to_deg):
    """A check after a side went away and came back."""
    course = np.concatenate([np.linspace(0, from_deg, 50), np.linspace(from_deg, to_deg, 50)])
    tracks = {each.sensor_id: bench.samples(each.side, course) for each in bench.sides}
    return check.take(bench.rest(left=to_deg, right=to_deg), tracks)


def test_hysteresis_is_between_the_means_of_both_ways_and_spread_within_one(bench):
    """From above 0.3 and 0.5, from below -0.1 and 0.1: 0.4° apart, 0.2° within."""
    check = CentringCheck(bench.neutral(), 0.2)
    for from_deg, to_deg in ((20, 0.3), (-20, -0.1), (20, 0.5), (-20, 0.1)):
        check = returned(bench, check, from_deg, to_deg)
    assert check.least == 2
    results = {each.name: each for each in check.result().results}
    for side in ("left", "right"):
        hysteresis, spread = results[f"{side}, hysteresis"], results[f"{side}, spread at neutral"]
        assert hysteresis.value == pytest.approx(0.4, abs=4 * hysteresis.standard_uncertainty)
        assert spread.value == pytest.approx(0.2, abs=0.12)
        assert not hysteresis.inside
    assert check.result().rests_deg["left"]["from above"] == pytest.approx((0.3, 0.5), abs=0.1)


@pytest.mark.parametrize(
    ("from_deg", "to_deg", "counts"),
    [(20, 0, True), (2.0, 0, False), (4.0, 0, True), (20, 2.7, True), (20, 3.3, False), (20, -3.3, False)],
)
def test_a_return_is_from_more_than_3_degrees_to_less(bench, from_deg, to_deg, counts):
    assert (returned(bench, CentringCheck(bench.neutral(), 0.2), from_deg, to_deg) is not None) is counts


def test_a_side_without_its_lines_has_not_returned(bench):
    check = CentringCheck(bench.neutral(), 0.2)
    left, right = (each.sensor_id for each in bench.sides)
    away = bench.samples("left", np.linspace(20, 0, 50))
    back = check.take(bench.rest(left=0.0, right=0.0), {left: away, right: away[:2]})
    assert set(back.returns[0]) == {"left"}
    assert back.least == 0
    assert replace(back).take(bench.rest(left=0.0, right=0.0), {left: away[:2], right: away[:2]}) is None


@pytest.mark.parametrize(
    ("profile", "play_mm", "centring_deg"),
    [("sport", 1.0, 0.5), ("glider", 0.5, 0.2), ("pattern", 0.5, 0.2), ("jet", 0.5, 0.2), ("3d", 1.0, 0.5)],
)
def test_what_each_kind_of_model_lets_pass(bench, profile, play_mm, centring_deg):
    """Play of sport models 0.5 to 1 mm, of gliders and jets 0.2 to 0.5; a good servo centres within 0.2°: M, trade."""
    given = SHEET.tolerances.model_copy(update={"profile": profile})
    sheet = SHEET.model_copy(update={"tolerances": given})
    neutral = NeutralReading(bench.sides[:1], {bench.sides[0].sensor_id: bench.rest(left=0.0, right=0.0)["b-left"]})
    taken = [bench.rest(left=0.0, right=0.0)] * 4
    (play,) = judge_play(sheet, "flap", neutral, taken).results
    assert play.limit == pytest.approx(play_mm)
    assert CENTRING_DEG[profile] == centring_deg
