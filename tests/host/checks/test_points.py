"""Half stick against full stick; the limit is common practice, no source."""

from dataclasses import replace

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


@pytest.mark.parametrize(("half_deg", "is_inside"), [(9.5, True), (9.3, False), (10.5, True), (10.7, False)], ids=str)
def test_three_hundredths_of_full_deflection_are_let_pass(bench, half_deg, is_inside):
    found = found_of(bench, half_deg, 20.0, half_deg)
    assert found["left, half of full stick one way"].inside is is_inside


@pytest.mark.parametrize(("full_deg", "is_judged"), [(1.8, False), (2.2, True), (-1.8, False), (-2.2, True)])
def test_half_of_next_to_nothing_is_not_judged(bench, full_deg, is_judged):
    found = found_of(bench, full_deg / 2, full_deg, full_deg / 2)
    assert ("left, half of full stick one way" in found) is is_judged


@pytest.mark.parametrize("noisy", [0, 2])
def test_half_is_as_uncertain_as_the_worse_of_both_ways(bench, noisy):
    """One of them a hundred times as noisy."""
    rests = [bench.rest(left=angle, right=angle) for angle in (10.0, 20.0, 10.0)]
    half = "left, half of full stick one way"
    quiet = {each.name: each for each in judge_points(bench.neutral(), {"one way": rests}, 0.3).results}[half]
    rests[noisy] = {
        name: replace(reading, covariance_counts2=1e4 * reading.covariance_counts2)
        for name, reading in rests[noisy].items()
    }
    loud = {each.name: each for each in judge_points(bench.neutral(), {"one way": rests}, 0.3).results}[half]
    assert loud.standard_uncertainty > 30 * quiet.standard_uncertainty
