"""Sweeps with known faults, thousands of noisy lines each: what was put in comes out.

Limits are common practice, no source; tolerances follow from the noise of a line, 0.15° over the root of its number.
"""

import numpy as np
import pytest
from tests.host.checks.conftest import Bench

from hingeline.capture import Seen
from hingeline.checks.sweep import SweepCheck
from hingeline.checks.tracking import Pair, steps
from hingeline.errors import NotMeasurable
from hingeline.lines import Lines, track
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
    lines = Lines(one.sensor_id for one in bench.sides)
    for sample in bench.samples("left", left_deg) + bench.samples("right", right_deg, phase_s):
        lines.saw(Seen(sample, frozenset()))
    check = SweepCheck(sheet, "flap", bench.sides, bench.rest(left=0.0, right=0.0))
    return check, lines


def finding(found, what: str):
    (one,) = (one for one in found.findings if one.what.startswith(what))
    return one


def test_nothing_is_found_where_nothing_is(bench, sheet, sweep):
    check, lines = swept(bench, sheet, 20 * sweep(), 20 * sweep())
    found = check.found(lines, bench.rest(left=0.0, right=0.0))
    assert check.strokes(lines) == 3
    assert found.inside
    assert abs(finding(found, "tracking").value) < 0.25
    assert abs(finding(found, "hysteresis").value) < 0.05
    assert found.details["left_out_percent"] < 1


def test_sides_read_at_different_times_are_brought_together(bench, sheet, sweep):
    """8°/s times 9 ms, twice, are 0.14°."""
    phase_s = 0.009
    check, lines = swept(bench, sheet, 40 * sweep(), 40 * sweep(shift_s=phase_s), phase_s)
    found = check.found(lines, bench.rest(left=0.0, right=0.0))
    assert abs(finding(found, "hysteresis").value) < 0.03


def test_an_error_at_mid_travel_alone_is_found_where_it_is(bench, sheet, sweep):
    stick = sweep()
    ahead_deg = 1.0 * np.maximum(0.0, 1 - np.abs(stick - 0.5) / 0.25)
    check, lines = swept(bench, sheet, 20 * stick, 20 * stick + ahead_deg)
    found = check.found(lines, bench.rest(left=0.0, right=0.0))
    tracking = finding(found, "tracking")
    assert not tracking.inside
    assert tracking.candidates
    assert tracking.value == pytest.approx(-0.9, abs=0.15)  # the mean over one step of the peak of a triangle
    assert "+10" in tracking.what or "+9" in tracking.what or "+11" in tracking.what


@pytest.mark.parametrize("hysteresis_deg", [0.0, 0.3, 0.6])
def test_hysteresis_of_one_side_is_recovered(bench, sheet, sweep, hysteresis_deg):
    stick = sweep()
    way = np.sign(np.gradient(stick))
    check, lines = swept(bench, sheet, 20 * stick - way * hysteresis_deg / 2, 20 * stick)
    found = finding(check.found(lines, bench.rest(left=0.0, right=0.0)), "hysteresis")
    assert abs(found.value) == pytest.approx(hysteresis_deg, abs=0.05)
    assert found.inside == (hysteresis_deg < 0.2)


def test_a_side_that_stops_before_the_other_is_found(bench, sheet, sweep):
    stick = sweep()
    check, lines = swept(bench, sheet, np.minimum(20 * stick, 16.0), 20 * stick)
    found = check.found(lines, bench.rest(left=0.0, right=0.0))
    assert finding(found, "left stands").value == pytest.approx(4.0, abs=0.5)
    assert not finding(found, "left stands").inside
    assert finding(found, "right stands").inside


def test_sides_that_go_against_each_other_are_compared_as_mirror_images(bench, sheet, sweep):
    """Ailerons with differential: alike on both sides, then with the right one half a degree up everywhere."""
    stick = sweep()
    left_deg = np.where(stick > 0, 20 * stick, 12 * stick)
    right_deg = np.where(stick < 0, -20 * stick, -12 * stick)
    check, lines = swept(bench, sheet, left_deg, right_deg)
    found = check.found(lines, bench.rest(left=0.0, right=0.0))
    assert found.details["opposed"]
    assert abs(finding(found, "tracking").value) < 0.35
    check, lines = swept(bench, sheet, 20 * stick, -20 * stick * (1 + 0.1 * (stick < 0)))
    tracking = finding(check.found(lines, bench.rest(left=0.0, right=0.0)), "tracking")
    assert abs(tracking.value) == pytest.approx(1.9, abs=0.4)  # a tenth of 20°, at the end
    assert not tracking.inside


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
    with pytest.raises(NotMeasurable, match="Only 0 steps"):
        steps(Pair.of(*tracks))


@pytest.mark.parametrize(
    ("rest_deg", "is_back"),
    [(0.0, True), (1.5, True), (-5.0, True), (-7.0, False), (20.0, False), (-20.0, False)],
)
def test_a_pause_at_an_end_or_on_the_way_is_not_back_at_neutral(bench, sheet, sweep, rest_deg, is_back):
    check, lines = swept(bench, sheet, 20 * sweep(), 20 * sweep())
    assert check.is_back(lines, bench.rest(left=rest_deg, right=rest_deg)) is is_back


def test_a_surface_that_goes_one_way_alone_is_back_at_that_end(bench, sheet, sweep):
    course_deg = 10 * sweep() - 10
    check, lines = swept(bench, sheet, course_deg, course_deg)
    assert check.is_back(lines, bench.rest(left=0.2, right=0.2))
    assert not check.is_back(lines, bench.rest(left=-19.0, right=-19.0))


def test_a_side_that_came_back_off_is_told(bench, sheet, sweep):
    check, lines = swept(bench, sheet, 20 * sweep(), 20 * sweep())
    assert not check.found(lines, bench.rest(left=0.0, right=0.0)).notes
    (note,) = check.found(lines, bench.rest(left=0.0, right=1.5)).notes
    assert note.startswith("right: it came back 1.5° off")


def test_the_stated_uncertainty_holds_what_it_says(sheet, sweep):
    """Of some hundred steps without an error, about 95 % hold zero in their 95 % interval (GUM 6.2.1)."""
    bench = Bench()
    check, lines = swept(bench, sheet, 20 * sweep(), 20 * sweep())
    along = check.found(lines, bench.rest(left=0.0, right=0.0)).details["steps"]
    inside = [abs(step["left_minus_right_deg"]) < 1.96 * step["standard_uncertainty_deg"] for step in along]
    assert len(along) > 40
    assert np.mean(inside) > 0.85


def test_boards_of_their_own_add_what_their_clocks_differ(sheet, sweep):
    budgets = []
    for boards in (("b", "b"), ("b", "c")):
        bench = Bench(boards)
        check, lines = swept(bench, sheet, 40 * sweep(), 40 * sweep())
        tracks = [
            track(one, bench.rest(left=0.0, right=0.0)[one.sensor_id], lines.of(one.sensor_id))
            for one in bench.sides
        ]
        budgets.append(dict(steps(Pair.of(*tracks))[3].apart.budget.items()))
        assert check.strokes(lines) == 3
    assert "clocks" not in budgets[0]
    assert budgets[1]["clocks"] == pytest.approx(8 * 0.002, rel=0.1)  # 8°/s
