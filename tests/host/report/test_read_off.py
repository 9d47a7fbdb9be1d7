"""What the plots show, read off with a ruler: the figures that were recorded, where they belong, each in its colour."""

import lzma
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.host.report.conftest import judged
from tests.host.report.ruler import Drawing

from hingeline.report.compare import compare
from hingeline.report.overlay import overlays
from hingeline.report.plots import plots
from hingeline.report.results import read_recorded, read_session
from hingeline.storage.runs import read_run
from hingeline.storage.sessions import Session

REPLAYS = Path(__file__).parents[2] / "data" / "replays"
LEFT, RIGHT, GREY, INK = "#0072b2", "#d55e00", "#595959", "#1a1a1a"
"""Blue and vermilion: Okabe and Ito's palette, which those who confuse colours tell apart."""
SIGHT_PT = 0.02
"""Drawings are written to six digits: nothing is read off more badly."""
LETTER_PT = 8.5
"""Height of the letters in a drawing; legible print begins at 8 points, common practice, no source."""
RISING = [(-10.0, -0.2, 0.05), (0.0, 0.1, 0.1), (10.0, 0.4, 0.2)]
FALLING = [(-10.0, -0.1, 0.05), (0.0, 0.3, 0.05), (10.0, 0.5, 0.05)]
"""Of a sweep: deflection, left minus right, standard uncertainty, in degrees."""


def sweep(*, shift_deg=0.0):
    steps = [
        {
            "position_deg": position,
            "way": way,
            "left_minus_right_deg": apart + shift_deg,
            "standard_uncertainty_deg": sd,
        }
        for way, rows in (("rising", RISING), ("falling", FALLING))
        for position, apart, sd in reversed(rows)
    ]
    return "sweep", {"surface": "elevator", "check": "sweep", "results": [], "steps": steps}


def throw(deg=5.0, budget=None, name="left", **fields):
    judgement = judged(name, deg)
    measured = {**judgement["measured"], **({} if budget is None else {"budget_deg": budget})}
    measured["standard_uncertainty_deg"] = fields.pop("sd_deg", 0.05)
    place = {"surface": "flap", "mode": "normal", "command": "up", **fields}
    return "throw", {**place, "judgements": [{**judgement, "measured": measured}]}


def drawn(results, title):
    (plot,) = (plot for plot in plots(results) if plot.title == title)
    return Drawing(plot), plot


def points(*pairs):
    return pytest.approx(np.array(pairs), abs=0.005)


def test_a_sweep_is_drawn_step_by_step_either_way_with_its_95_percent(made):
    drawing, _ = drawn(made(sweep()), "elevator: left against right, tracking and hysteresis")
    for colour, rows, band in ((LEFT, RISING, drawing.bands[0]), (RIGHT, FALLING, drawing.bands[1])):
        (curve,) = drawing.of(colour)
        assert np.array(curve.line) == points(*((position, apart) for position, apart, _ in rows))
        assert curve.marks == curve.line
        for position, apart, sd in rows:
            edges = [y for x, y in band if x == pytest.approx(position, abs=0.01)]
            # 95 % of a normal distribution are within 1.960 standard deviations
            assert (min(edges), max(edges)) == pytest.approx((apart - 1.96 * sd, apart + 1.96 * sd), abs=0.005)
    assert drawing.legend == [("trailing edge rising", LEFT), ("trailing edge falling", RIGHT)]
    (zero,) = drawing.of(GREY)
    assert [y for _, y in zero.line] == pytest.approx([0, 0], abs=0.001)
    assert [x for x, _ in zero.line] == pytest.approx(drawing.span)
    assert drawing.of(RIGHT)[0].style["stroke-dashoffset"] == "0", (
        "dashed from its beginning: they differ without colour"
    )
    assert "stroke-dasharray" not in drawing.of(LEFT)[0].style
    assert drawing.strokes[0] == zero, "the curves lie on it"


def test_rests_stand_in_rows_from_the_top_each_where_it_was(made):
    rests = {
        "left": {"pushed up": [0.5, 0.52], "let go from above": [0.3], "pushed down": []},
        "right": {"pushed up": [-0.1, -0.25, -0.2]},
    }
    play = {"surface": "elevator", "check": "play", "results": [], "rests_deg": rests}
    drawing, plot = drawn(made(("play", play)), "elevator: play")
    assert drawing.rows == ["left, pushed up", "left, let go from above", "right, pushed up"]
    assert np.array(drawing.of(LEFT)[0].marks) == points((0.5, 0), (0.52, 0))
    assert np.array(drawing.of(LEFT)[1].marks) == points((0.3, -1))
    assert np.array(drawing.of(RIGHT)[0].marks) == points((-0.1, -2), (-0.25, -2), (-0.2, -2))
    assert not any(stroke.line for stroke in drawing.of(LEFT) + drawing.of(RIGHT)), "marks are not joined"
    (zero,) = drawing.of(GREY)
    assert [x for x, _ in zero.line] == pytest.approx([0, 0], abs=0.001), "upright"
    assert sorted(y for _, y in zero.line) == pytest.approx(sorted(drawing.height))
    assert -3 < drawing.height[0] < -2.2
    assert 0.2 < drawing.height[1] < 1, "no row on the edge, none empty"
    assert "the play" in plot.caption


@pytest.mark.parametrize("count", [1, 8, 20])
def test_rows_are_as_far_apart_as_lines_of_text(made, count):
    """However many, and not so far that a page is wasted. 120 % of the letters: common practice, no source."""
    rests = {"left": {f"push {number}": [0.1] for number in range(count)}}
    play = {"surface": "elevator", "check": "play", "results": [], "rests_deg": rests}
    drawing, _ = drawn(made(("play", play)), "elevator: play")
    low, high = drawing.height if count > 1 else (-0.6, 0.6)
    _, height_pt = drawing.box_pt
    assert 1.2 * LETTER_PT < height_pt / (high - low) < (4 if count > 1 else 10) * LETTER_PT


def test_droop_is_drawn_second_by_second(made):
    seconds = {"left": [-30.0, -29.5, -29.4], "right": [-30.0, -29.9, -29.8]}
    droop = {"surface": "flap", "check": "droop", "results": [], "each_second_deg": seconds}
    drawing, _ = drawn(made(("droop", droop)), "flap: droop")
    for side, colour in (("left", LEFT), ("right", RIGHT)):
        (curve,) = drawing.of(colour)
        assert np.array(curve.line) == points(*enumerate(seconds[side]))
        assert not curve.marks
    assert drawing.legend == [("left", LEFT), ("right", RIGHT)]


def test_a_rudder_is_drawn_in_one_line_of_ink(made):
    droop = {"surface": "rudder", "check": "droop", "results": [], "each_second_deg": {"middle": [20.0, 19.0]}}
    drawing, _ = drawn(made(("droop", droop)), "rudder: droop")
    (curve,) = drawing.of(INK)
    assert np.array(curve.line) == points((0, 20), (1, 19))
    assert "stroke-dasharray" not in curve.style


def test_a_drawing_has_two_axes_and_a_grid_below_its_curves_on_the_bare_paper(made):
    drawing, plot = drawn(made(sweep()), "elevator: left against right, tracking and hysteresis")
    assert len(drawing.frames) == 2, "no frame above and to the right, none about the legend, no background"
    assert plot.svg.index("ytick_1") < plot.svg.index(f"stroke: {LEFT}")
    assert not drawing.tick_marks
    width_in = drawing.box_pt[0] / 72
    # A4 (ISO 216) with margins of 14 mm: what is printed is drawn that wide
    assert LETTER_PT * (210 - 28) / 25.4 / width_in >= 8


def test_the_largest_sources_of_the_least_certain_readings_come_first(made):
    """Nine sources, of which eight are shown; of neutral and throw the least certain reading, as it was left."""
    sources = {f"source {number}": number / 100 for number in range(1, 10)}
    worst, better = {**sources, "source 4": 0.2}, {"source 4": 0.01}
    neutral = {"noise": 0.03, "source 9": 0.18}
    judgement = judged("left")
    judgement["measured"] = {**judgement["measured"], "budget_deg": neutral}
    results = made(
        throw(sd_deg=0.9, budget={"adjusted since": 0.9}),
        throw(sd_deg=0.1, budget=better),
        throw(sd_deg=0.25, budget=worst, command="down"),
        throw(sd_deg=0.8, budget={}, command="half"),
        ("neutral", {"surface": "flap", "judgements": [judgement]}),
    )
    drawing, plot = drawn(results, "Where the uncertainty comes from")
    order = ["source 4", "source 9", *(f"source {number}" for number in (8, 7, 6, 5, 3)), "noise"]
    assert sorted(drawing.rows[-2:]) == ["noise", "source 3"], "as large as each other"
    assert drawing.rows[:6] == order[:6]
    marks = {name: drawing.of(colour)[0].marks for name, colour in drawing.legend}
    for name, budget in (("throw", worst), ("neutral", neutral)):
        shown = {drawing.rows[-round(y)]: x for x, y in marks[name]}
        assert shown == pytest.approx({row: budget[row] for row in drawing.rows if row in budget}, abs=0.001)
    assert drawing.span[0] == pytest.approx(0, abs=0.001), "an uncertainty begins at nothing"
    assert "throw: flap, down · normal, left, 0.250° in all" in plot.caption
    assert "neutral: flap, neutral, left, 0.050° in all" in plot.caption


def test_without_a_budget_there_is_no_plot_of_one(made):
    assert plots(made(throw(budget={}))) == ()


def test_what_moved_is_drawn_from_the_old_session_to_the_new(made):
    play = {
        "name": "left, play",
        "value": 0.5,
        "unit": "mm",
        "standard_uncertainty": 0.1,
        "interval_95": [0.3, 0.7],
        "limit": 2.0,
        "inside": True,
    }
    further = ("play", {"surface": "flap", "check": "play", "results": [play]})
    old = made(throw(5.0, sd_deg=0.03), throw(4.0, sd_deg=0.03, name="right"), further, sweep())
    new = made(throw(5.4, sd_deg=0.04), throw(3.0, sd_deg=0.04, name="right"), further, sweep(shift_deg=0.25))
    old.runs[0].run = replace(old.runs[0].run, started="2025-09-14T10:00:00+00:00")
    comparison = compare(old, new)
    *_, moves, sweeps = map(Drawing, overlays(comparison))
    before, after = comparison.heads
    assert moves.rows == ["flap, up · normal, left", "flap, up · normal, right"], "what is in mm is no angle"
    colours = dict(moves.legend)
    assert np.array(moves.of(colours[before])[0].marks) == points((0, 0), (0, -1))
    # three values together: 95 % by Bonferroni, 0.95 → 1 - 0.05/3, two-sided z = 2.394; uncertainties make 0.05°
    reach_deg = 2.394 * 0.05
    assert np.array(moves.bars) == pytest.approx(
        np.array([[(0.4 - reach_deg, 0), (0.4 + reach_deg, 0)], [(-1 - reach_deg, -1), (-1 + reach_deg, -1)]]),
        abs=0.002,
    )
    assert np.array(moves.of(colours[after])[-1].marks) == points((0.4, 0), (-1, -1))
    assert all(x == pytest.approx(0, abs=0.001) for x, _ in moves.of(GREY)[0].line)
    assert dict(sweeps.legend) == colours
    for date, shift_deg in ((before, 0.0), (after, 0.25)):
        ways = sweeps.of(colours[date])
        for curve, rows in zip(ways, (RISING, FALLING), strict=True):
            assert np.array(curve.line) == points(*((position, apart + shift_deg) for position, apart, _ in rows))
    assert [y for _, y in sweeps.of(GREY)[0].line] == pytest.approx([0, 0], abs=0.001)


def test_a_comparison_draws_only_what_both_sessions_have(made):
    reading = throw(5.0)
    titles = ["flap, session by session", "Change of every angle"]
    assert [plot.title for plot in overlays(compare(made(reading, sweep()), made(reading)))] == titles
    assert [plot.title for plot in overlays(compare(made(reading), made(reading, sweep())))] == titles
    ratio = {
        "name": "half stick",
        "value": 0.5,
        "unit": "ratio",
        "standard_uncertainty": 0.01,
        "interval_95": [0.48, 0.52],
        "limit": 0.03,
        "inside": True,
    }
    without = "linearity", {"surface": "flap", "check": "sweep", "results": [ratio]}
    assert overlays(compare(made(("sweep", without[1])), made(("sweep", without[1])))) == ()


@pytest.fixture
def throws(tmp_path):
    """A recorded run of throws; by calibrations that may see gravity longer than it is."""

    def read(longer=1.0):
        content = lzma.decompress((REPLAYS / "throws.log.xz").read_bytes())
        path = tmp_path / "session.log"
        path.write_bytes(content)
        recorded = read_recorded(read_run(path))
        recorded.calibrations = {
            name: replace(each, matrix_counts_per_g=each.matrix_counts_per_g / longer)
            for name, each in recorded.calibrations.items()
        }
        return recorded

    return read


def results_of(recorded):
    results = read_session(Session((recorded.run,)))
    results.runs[0].calibrations = recorded.calibrations
    return results


def test_the_course_has_its_readings_marked_where_and_when_they_were_taken(throws):
    results = results_of(throws())
    readings = {
        side: [
            judgement.measured.deg
            for each in results.readings
            for judgement in each.judgements
            if judgement.name == side
        ]
        for side in ("left", "right")
    }
    surface = results.readings[0].surface
    drawing, plot = drawn(results, f"{surface}: deflection over time")
    assert [name for name, _ in drawing.legend] == ["left", "right"]
    for side, colour in drawing.legend:
        thin, steady, *rests, marked = drawing.of(colour)
        assert [y for _, y in marked.marks] == pytest.approx(readings[side], abs=0.02)
        for rest, (end_s, deg) in zip(rests, marked.marks, strict=True):
            (from_s, first), (to_s, last) = rest.line
            assert (first, last, to_s) == pytest.approx((deg, deg, end_s), abs=0.02)
            assert to_s - from_s == pytest.approx(0.7, abs=0.01), "a reading is held for 0.7 s"
            inside = [y for x, y in steady.line if from_s < x < to_s]
            assert np.mean(inside) == pytest.approx(deg, abs=0.1)
        assert len(thin.line) > len(steady.line), "where it moved fast there is the thin line alone"
        ends_s = [x for x, _ in marked.marks]
    grey = drawing.of(GREY)
    assert [stroke.line[0][0] for stroke in grey] == pytest.approx(ends_s, abs=0.01)
    assert [stroke.line[1][0] for stroke in grey] == pytest.approx(ends_s, abs=0.01)
    assert [text for text, _ in drawing.labels] == [each.position for each in results.readings]
    for (_, (x_pt, y_pt)), end_s in zip(drawing.labels, ends_s, strict=True):
        ends_at_s, up_deg = drawing.at(x_pt, y_pt)
        assert end_s - 0.1 < ends_at_s < end_s, "a label ends at its line"
        assert up_deg > drawing.height[1], "above the curves"
    lowest_pt = max(y_pt for _, (_, y_pt) in drawing.labels)
    assert drawing.at(0, lowest_pt + 6)[1] < drawing.height[1], "the lowest by no more than a few points"
    assert drawing.span[0] < 0 < ends_s[-1] < drawing.span[1]
    assert "throws" in plot.caption


@pytest.mark.parametrize(("longer", "expected_mg"), [(1.0, 0), (1.02, 20), (0.97, -30)])
def test_a_length_that_is_not_1_g_is_shown_in_mg(throws, longer, expected_mg):
    """By a calibration of 2 % fewer counts per g, gravity is 20 mg longer, whatever way it points."""
    drawing, _ = drawn(results_of(throws(longer)), "Calibration residuals")
    assert len(drawing.rows) == 2
    for row, colour in enumerate((LEFT, RIGHT)):
        (stroke,) = drawing.of(colour)
        assert {round(y) for _, y in stroke.marks} == {-row}
        # 400 µg/√Hz for 0.7 s and the calibration of twelve poses: 1.5 mg covers both
        assert [x for x, _ in stroke.marks] == pytest.approx(len(stroke.marks) * [expected_mg], abs=1.5)
    low, high = drawing.span
    assert low == pytest.approx(-high)
    worst = max(abs(x) for stroke in drawing.strokes for x, _ in stroke.marks)
    assert max(1.0, worst) < high < 2 * max(1.0, worst), "all of it, and not much more"
