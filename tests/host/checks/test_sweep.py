"""Sweeps with known faults, thousands of noisy lines each: what was put in comes out.

Limits are common practice, no source; tolerances follow from the noise of a line, 0.15° over the root of its number.
"""

import numpy as np
import pytest
from tests.host.checks.conftest import LINES_HZ, Bench

from hingeline.checks.sweep import SweepCheck
from hingeline.checks.sweep_strokes import Pair
from hingeline.checks.tracking import steps
from hingeline.checks.values import Step
from hingeline.errors import NotMeasurable
from hingeline.measure.tracks import track
from hingeline.rig import load_sheet

SHEET = """
schema_version = 1
aircraft = "Tin Plover"
modes = ["normal"]
[tolerances]
profile = "pattern"
[surface.flap]
chord = "50 mm"
throws.normal = { up = "20 deg", down = "20 deg" }
"""


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "plover.rig.toml"
    path.write_text(SHEET)
    return load_sheet(path)


def swept(bench: Bench, sheet, left_deg: np.ndarray, right_deg: np.ndarray, phase_s: float = 0.0):
    left, right = (instrument.sensor_id for instrument in bench.sides)
    tracks = {left: bench.samples("left", left_deg), right: bench.samples("right", right_deg, phase_s)}
    check = SweepCheck(sheet, "flap", bench.neutral())
    return check, tracks


def finding(found, what: str):
    (one,) = (one for one in found.results if one.name.startswith(what))
    return one


def test_nothing_is_found_where_nothing_is(bench, sheet, sweep):
    check, swept_tracks = swept(bench, sheet, 20 * sweep(), 20 * sweep())
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    assert check.strokes(swept_tracks) == 3
    assert found.inside
    assert abs(finding(found, "tracking").value) < 0.25
    assert abs(finding(found, "hysteresis").value) < 0.05
    assert found.left_out_percent < 1


def test_sides_read_at_different_times_are_brought_together(bench, sheet, sweep):
    """8°/s times 9 ms, twice, are 0.14°."""
    phase_s = 0.009
    check, swept_tracks = swept(bench, sheet, 40 * sweep(), 40 * sweep(shift_s=phase_s), phase_s)
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    assert abs(finding(found, "hysteresis").value) < 0.03


def test_an_error_at_mid_travel_alone_is_found_where_it_is(bench, sheet, sweep):
    stick = sweep()
    ahead_deg = 1.0 * np.maximum(0.0, 1 - np.abs(stick - 0.5) / 0.25)
    check, swept_tracks = swept(bench, sheet, 20 * stick, 20 * stick + ahead_deg)
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    tracking = finding(found, "tracking")
    assert not tracking.inside
    assert tracking.candidates
    assert tracking.value == pytest.approx(-0.9, abs=0.15)  # the mean over one step of the peak of a triangle
    assert "+10" in tracking.name or "+9" in tracking.name or "+11" in tracking.name


@pytest.mark.parametrize("hysteresis_deg", [0.0, 0.3, 0.6])
def test_hysteresis_of_one_side_is_recovered(bench, sheet, sweep, hysteresis_deg):
    stick = sweep()
    way = np.sign(np.gradient(stick))
    check, swept_tracks = swept(bench, sheet, 20 * stick - way * hysteresis_deg / 2, 20 * stick)
    found = finding(check.result(swept_tracks, bench.rest(left=0.0, right=0.0)), "hysteresis")
    assert abs(abs(found.value) - hysteresis_deg) <= 1.96 * found.standard_uncertainty <= 0.05
    assert found.inside == (hysteresis_deg < 0.2)


@pytest.mark.parametrize(("most_deg", "step_deg"), [(20.0, 40 / 24), (5.0, 0.5)])
def test_steps_are_a_24th_of_the_travel_and_half_a_degree_at_least(bench, sheet, sweep, most_deg, step_deg):
    check, swept_tracks = swept(bench, sheet, most_deg * sweep(), most_deg * sweep())
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    for way in ("rising", "falling"):
        places_deg = [step.position_deg for step in found.steps if step.way == way]
        assert np.median(np.diff(places_deg)) == pytest.approx(step_deg, rel=0.05)


def test_how_far_each_side_went_is_kept(bench, sheet, sweep):
    """Smoothed over a tenth of a second and more, so a little short of the turning points."""
    check, swept_tracks = swept(bench, sheet, 20 * by_hand(sweep, 10.0) - 1, 12 * by_hand(sweep, 10.0) + 2)
    travel_deg = check.result(swept_tracks, bench.rest(left=0.0, right=0.0)).travel_deg
    most = by_hand(sweep, 10.0).max()
    assert travel_deg["left"] == pytest.approx((-20 * most - 1, 20 * most - 1), abs=0.25)
    assert travel_deg["right"] == pytest.approx((-12 * most + 2, 12 * most + 2), abs=0.25)


def test_lines_before_the_other_side_came_do_not_count(bench, sheet, sweep):
    left, right = (
        track(one, bench.rest(left=0.0, right=0.0)[one.sensor_id], samples)
        for one, samples in (
            (bench.sides[0], bench.samples("left", 20 * sweep())),
            (bench.sides[1], bench.samples("right", 20 * sweep())[100:-50]),
        )
    )
    pair = Pair(left, right)
    assert pair.time_s[0] >= right.time_s[0]
    assert pair.time_s[-1] <= right.time_s[-1]


def test_a_side_that_stops_before_the_other_is_found(bench, sheet, sweep):
    stick = by_hand(sweep, 10.0)
    check, swept_tracks = swept(bench, sheet, np.minimum(20 * stick, 16.0), 20 * stick)
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    assert finding(found, "left stops").value == pytest.approx(20 * stick.max() - 16, abs=0.3)
    assert not finding(found, "left stops").inside
    assert finding(found, "right stops").value < 0.5


@pytest.mark.parametrize("short_deg", [0.8, 1.4])
@pytest.mark.parametrize("end", [1, -1])
def test_a_degree_of_standing_at_an_end_is_let_pass(bench, sheet, sweep, short_deg, end):
    stick = by_hand(sweep, 10.0)
    stop_deg = 20 * stick.max() - short_deg
    left_deg = np.minimum(20 * stick, stop_deg) if end > 0 else np.maximum(20 * stick, -stop_deg)
    check, swept_tracks = swept(bench, sheet, left_deg, 20 * stick)
    stops = finding(check.result(swept_tracks, bench.rest(left=0.0, right=0.0)), "left stops before right")
    assert abs(stops.value - short_deg) <= 1.96 * stops.standard_uncertainty <= 0.4  # where an end begins
    assert (stops.limit, stops.inside) == (1.0, short_deg < 1)


def test_sides_that_go_against_each_other_are_compared_as_mirror_images(bench, sheet, sweep):
    """Ailerons with differential: alike on both sides, then with the right one half a degree up everywhere."""
    stick = sweep()
    left_deg = np.where(stick > 0, 20 * stick, 12 * stick)
    right_deg = np.where(stick < 0, -20 * stick, -12 * stick)
    check, swept_tracks = swept(bench, sheet, left_deg, right_deg)
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    assert found.opposed
    assert abs(finding(found, "tracking").value) < 0.35
    check, swept_tracks = swept(bench, sheet, 20 * stick, -20 * stick * (1 + 0.1 * (stick < 0)))
    tracking = finding(check.result(swept_tracks, bench.rest(left=0.0, right=0.0)), "tracking")
    assert abs(tracking.value) == pytest.approx(1.9, abs=0.4)  # a tenth of 20°, at the end
    assert not tracking.inside


@pytest.mark.parametrize(("down_deg", "play_deg"), [(3.75, 0.0), (7.5, 0.6)])
def test_neither_differential_nor_play_makes_a_side_stand_at_its_end(bench, sheet, sweep, down_deg, play_deg):
    """While one goes the last 0.4° down, the other goes 1.6° up, or 0.8° and 1.2° more at the turn: both by design."""
    left_deg, right_deg = ailerons(by_hand(sweep, 20.0), down_deg)
    check, swept_tracks = swept(bench, sheet, left_deg, with_play(right_deg, play_deg))
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    for side in ("left", "right"):
        assert finding(found, f"{side} stops").value < 0.5  # the range of noise, 0.04° of the mean of 15 lines


def test_alike_ailerons_that_move_down_slowly_track(bench, sheet, sweep):
    """At a minute a stroke the side that goes down does 0.25°/s; a line shows 0.15° of noise."""
    check, swept_tracks = swept(bench, sheet, *ailerons(by_hand(sweep, 60.0), down_deg=7.5))
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    assert len(found.steps) > 40
    assert abs(finding(found, "tracking").value) < 0.12  # the greatest of some 45, 0.025° each


@pytest.mark.parametrize("seed", range(5))
def test_a_side_that_stands_is_told_whatever_its_noise(sheet, sweep, seed):
    """Left goes by 20° both ways, right not at all: 20° apart at the ends."""
    bench = Bench()
    bench._rng = np.random.default_rng(seed)
    check, swept_tracks = swept(bench, sheet, 20 * sweep(), 0 * sweep())
    found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    assert not found.opposed
    assert abs(finding(found, "tracking").value) == pytest.approx(20, abs=2.5)  # of a step's middle


def test_a_fast_sweep_is_recognised_and_not_measured(bench, sheet):
    rest = bench.rest(left=0.0, right=0.0)
    times = np.arange(500) / 50
    one = bench.sides[0]
    shaken = [
        sample._replace(counts=tuple(bench.counts(np.array([0.0]), 0.25 * np.sin(9 * time))[0]))
        for sample, time in zip(bench.samples("left", np.zeros(500)), times, strict=True)
    ]
    seen = track(one, rest[one.sensor_id], tuple(shaken))
    assert np.abs(seen.deflection_deg).max() > 10  # what it would have read
    assert seen.steady.mean() < 0.05


def test_too_few_lines_are_not_measurable(bench):
    rest = bench.rest(left=0.0, right=0.0)
    course = np.linspace(-20, 20, 25)
    tracks = [track(one, rest[one.sensor_id], bench.samples(one.side, course)) for one in bench.sides]
    with pytest.raises(NotMeasurable, match=r"Only 0 steps.*expected at least 6; 100 % were too fast"):
        steps(Pair(*tracks))


@pytest.mark.parametrize(
    ("rest_deg", "is_back"),
    [(0.0, True), (1.5, True), (-5.0, True), (-7.0, False), (20.0, False), (-20.0, False)],
)
def test_a_pause_at_an_end_or_on_the_way_is_not_back_at_neutral(bench, sheet, sweep, rest_deg, is_back):
    check, swept_tracks = swept(bench, sheet, 20 * sweep(), 20 * sweep())
    assert check.is_back(swept_tracks, bench.rest(left=rest_deg, right=rest_deg)) is is_back


def test_a_surface_that_goes_one_way_alone_is_back_at_that_end(bench, sheet, sweep):
    course_deg = 10 * sweep() - 10
    check, swept_tracks = swept(bench, sheet, course_deg, course_deg)
    assert check.is_back(swept_tracks, bench.rest(left=0.2, right=0.2))
    assert not check.is_back(swept_tracks, bench.rest(left=-19.0, right=-19.0))


def test_a_side_that_came_back_off_is_told(bench, sheet, sweep):
    check, swept_tracks = swept(bench, sheet, 20 * sweep(), 20 * sweep())
    assert not check.result(swept_tracks, bench.rest(left=0.0, right=0.0)).notes
    (note,) = check.result(swept_tracks, bench.rest(left=0.0, right=1.5)).notes
    assert note.startswith("right: it came back 1.5° off")


def by_hand(sweep, seconds_a_stroke: float) -> np.ndarray:
    """The stick's course (N,) by a hand that turns round within a second."""
    round_off = np.hanning(LINES_HZ)
    stick = np.pad(sweep(seconds_a_stroke), round_off.size // 2, mode="edge")
    return np.convolve(stick, round_off / round_off.sum(), "valid")


def with_play(servo_deg: np.ndarray, play_deg: float) -> np.ndarray:
    """Where a surface is (N,): it stands until the play is taken up, then follows."""
    surface_deg = np.empty_like(servo_deg)
    place = servo_deg[0]
    for index, servo in enumerate(servo_deg):
        place = min(max(place, servo - play_deg / 2), servo + play_deg / 2)
        surface_deg[index] = place
    return surface_deg


def crossed(driver_deg: np.ndarray, other_deg: np.ndarray, step: Step) -> float:
    """Where one side is on average whenever the other goes through a step: straight from line to line."""
    off = (driver_deg - step.position_deg) * (1 if step.way == "rising" else -1)
    before = np.flatnonzero((off[:-1] < 0) & (off[1:] >= 0))
    part = off[before] / (off[before] - off[before + 1])
    return float(np.mean(other_deg[before] + part * np.diff(other_deg)[before]))


def ailerons(stick: np.ndarray, down_deg: float) -> tuple[np.ndarray, np.ndarray]:
    """Left and right (N,), 15° up and less down, alike."""
    left_deg, right_deg = (np.where(way > 0, 15 * way, down_deg * way) for way in (stick, -stick))
    return left_deg, right_deg


@pytest.mark.parametrize(
    ("sweeps", "seconds_a_stroke", "truth"),
    [
        pytest.param(200, 10.0, {"down_deg": 5.0, "play_deg": 0.0}, marks=pytest.mark.long),
        (40, 20.0, {"down_deg": 7.5, "play_deg": 0.0}),
        (40, 10.0, {"down_deg": 7.5, "play_deg": 0.6}),
    ],
)
def test_the_stated_uncertainty_holds_what_it_says(sheet, sweep, sweeps, seconds_a_stroke, truth):
    """95 % of the steps, and of what is told as the worst at least so many, hold the truth (GUM 6.2.1).

    Ailerons with play on the right. The truth is read off their courses without noise: 0 where there is no play.
    The least of the worst is three standard deviations of a share of so many sweeps below.
    """
    left_deg, right_deg = ailerons(by_hand(sweep, seconds_a_stroke), truth["down_deg"])
    right_deg = with_play(right_deg, truth["play_deg"])
    bench, inside, worst_inside = Bench(), [], []
    for _ in range(sweeps):
        check, swept_tracks = swept(bench, sheet, left_deg, right_deg)
        found = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
        worst = finding(found, "tracking")
        for step in found.steps:
            value, sd = step.left_minus_right_deg, step.standard_uncertainty_deg
            error = value - crossed(right_deg, left_deg, step) + crossed(left_deg, right_deg, step)
            inside.append(abs(error) < 1.96 * sd)
            if value == worst.value:
                worst_inside.append(abs(error) < 1.96 * worst.standard_uncertainty)
    assert len(inside) > 40 * sweeps
    assert len(worst_inside) >= sweeps
    assert np.mean(inside) == pytest.approx(0.95, abs=0.02)
    assert np.mean(worst_inside) > 0.95 - 3 * (0.95 * 0.05 / sweeps) ** 0.5


def test_boards_of_their_own_add_what_their_clocks_differ(sheet, sweep):
    budgets = []
    for boards in (("b", "b"), ("b", "c")):
        bench = Bench(boards)
        check, swept_tracks = swept(bench, sheet, 40 * sweep(), 40 * sweep())
        tracks = [
            track(one, bench.rest(left=0.0, right=0.0)[one.sensor_id], swept_tracks[one.sensor_id])
            for one in bench.sides
        ]
        budgets.append(dict(steps(Pair(*tracks))[3].apart.budget.items()))
        assert check.strokes(swept_tracks) == 3
    assert "clocks" not in budgets[0]
    assert budgets[1]["clocks"] == pytest.approx(8 * 0.002, rel=0.1)  # 8°/s


@pytest.mark.parametrize(("jerks", "share"), [(12, (16, 20)), (15, (20, 24))])
def test_more_than_a_fifth_of_lines_left_out_asks_for_a_slower_sweep(bench, sheet, sweep, jerks, share):
    """Common practice, no source. Each jerk goes off by 8° at once, and comes back."""
    course_deg = 20 * sweep()
    for start in np.linspace(0, course_deg.size, 16, endpoint=False)[:jerks].astype(int):
        course_deg[start + 20 : start + 50] += 8.0
    check, swept_tracks = swept(bench, sheet, course_deg, course_deg)
    result = check.result(swept_tracks, bench.rest(left=0.0, right=0.0))
    assert share[0] < result.left_out_percent < share[1]
    assert any("sweep more slowly" in note for note in result.notes) == (result.left_out_percent > 20)
