"""Half stick against full stick; the limit is common practice, no source."""

import pytest

from hingeline.checks.points import judge_points


def found_of(bench, coming: float, full: float, back: float):
    neutral = bench.neutral()
    rests = [bench.rest(left=angle, right=angle) for angle in (coming, full, back)]
    return {each.name: each for each in judge_points(neutral, {"one way": rests}, 0.3).results}


def test_a_linear_surface_is_within(bench):
    found = found_of(bench, 10.0, 20.0, 10.0)
    assert all(one.inside for one in found.values())
    assert found["left, half of full stick one way"].value == pytest.approx(0.5, abs=0.005)


def test_expo_left_in_is_found(bench):
    found = found_of(bench, -7.6, -20.0, -7.6)
    half = found["right, half of full stick one way"]
    assert half.value == pytest.approx(0.38, abs=0.005)
    assert not half.inside
    assert "expo" in half.candidates[0]


def test_play_shows_as_a_gap_and_is_no_expo(bench):
    found = found_of(bench, 9.7, 20.0, 10.3)
    assert found["left, half stick one way: hysteresis"].value == pytest.approx(0.6, abs=0.1)
    assert not found["left, half stick one way: hysteresis"].inside
    assert found["left, half of full stick one way"].inside
