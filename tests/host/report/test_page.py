"""The report: everything that was read stands in it, and the same visit gives the same bytes."""

import os
import re
import subprocess
import sys
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from tests.host.report.conftest import DATA, judged
from tests.host.report.pages import Page

from hingeline.report.course import courses
from hingeline.report.page import NOT_A_CLEARANCE, report_page, signed, target, value
from hingeline.report.plots import plots
from hingeline.report.results import Results, read_session
from hingeline.storage.sessions import Session


@pytest.fixture(scope="module")
def page(now) -> Page:
    return Page(report_page(now))


@pytest.mark.long
def test_the_same_visit_gives_the_same_bytes(now, tmp_path):
    pages = []
    for number, (seed, zone, language) in enumerate((("0", "UTC", "C"), ("7", "Asia/Tokyo", "de_DE.UTF-8"))):
        path = tmp_path / f"{number}.html"
        subprocess.run(
            [sys.executable, "-m", "hingeline", "report", "Moss Lantern", "-o", str(path)],
            env={
                **os.environ,
                "HINGELINE_HOME": str(DATA),
                "PYTHONHASHSEED": seed,
                "TZ": zone,
                "LANG": language,
            },
            check=True,
            capture_output=True,
        )
        pages.append(path.read_bytes())
    assert pages[0] == pages[1] == report_page(now)


def test_every_reading_stands_beside_its_limit(now, page):
    assert len(now.rows) == 9
    for row in now.rows:
        one = row.as_found
        assert f"{target(one)} {signed(one.measured.deg, 2, '°')} ±{one.measured.reach_deg:.2f}" in page.text
        assert one.verdict_text in page.text
    assert "9 of 9 readings are within the tolerance you set" in page.text


def test_what_was_measured_again_stands_in_its_column(now, then):
    again = {row.key: row.again for row in now.rows}
    down = again["flap", "down · normal", "left"]
    assert value(down) in Page(report_page(now)).text
    assert down.inside
    assert not now.rows[1].as_found.inside
    assert all(row.again is None for row in then.rows)
    assert Page(report_page(then)).source.count('<td class="again verdict "></td>') == len(then.rows)


def test_a_further_cycle_takes_no_reading_of_another_run_away(record):
    """Adjusted between two runs; in the second one the first cycle was left out."""
    throw = {"surface": "flap", "mode": "normal", "command": "up"}
    before = record(("throw", {**throw, "judgements": [judged(deg=7.0)]}))
    after = record(("throw", {**throw, "cycle": 2, "judgements": [judged(deg=5.0)]}))
    (row,) = read_session(Session((before, after))).rows
    assert [judgement.measured.deg for judgement in row.readings] == [7.0, 5.0]


def test_a_further_cycle_is_no_adjustment(made):
    reading = {"surface": "flap", "mode": "normal", "command": "up"}
    visit = made(*(("throw", {**reading, "cycle": n, "judgements": [judged(deg=5 + n / 100)]}) for n in (1, 2, 3)))
    (row,) = visit.rows
    assert row.again is None
    assert row.as_found.measured.deg == 5.03


def test_what_is_left_to_do_comes_first(then):
    page = Page(report_page(then))
    assert page.text.index("Still to do") < page.text.index("Verdict")
    assert "turn the clevis 2 half turns" in page.text
    assert "RIGHT 1.8° HIGH flap, neutral, left − right" in page.text


def test_without_a_verdict_there_is_no_gap(made):
    unsound = judged(deg=2.0, verdict="NO VERDICT", inside=False, reason="it sits askew")
    visit = made(("throw", {"surface": "flap", "mode": "normal", "command": "up", "judgements": [unsound]}))
    page = Page(report_page(visit))
    assert page.text.count("NO VERDICT") == 3, "with what is left to do, beside its limit and on the settings card"
    assert "+2.0°" not in page.text
    assert "+3.00" not in page.text


def test_what_is_to_be_typed_is_set_so_wherever_it_stands(made):
    typed = [f"`hingeline {name}`" for name in ("advice", "effect", "candidate", "note", "caution")]
    advice, effect, candidate, note, caution = typed
    throw = judged(inside=False, verdict="MORE", advice=f"try {advice}", effect=f"see {effect} & `<img>`")
    finding = {
        "name": "left, play",
        "value": 0.5,
        "unit": "deg",
        "standard_uncertainty": 0.1,
        "interval_95": [0.3, 0.7],
        "limit": 0.2,
        "inside": False,
        "candidates": [f"play: {candidate} tells", "a ` alone"],
    }
    visit = made(
        ("throw", {"surface": "flap", "mode": "normal", "command": "up", "judgements": [throw]}),
        ("play", {"surface": "flap", "check": "play", "results": [finding], "notes": [note]}),
        ("caution", {"text": caution}),
    )
    page = Page(report_page(visit))
    assert page.tags["code"] == len(typed) + 1
    assert all(f"<code>{words.strip('`')}</code>" in page.source for words in typed)
    assert "a ` alone" in page.text
    assert "</code> &amp; <code>&lt;img&gt;</code>" in page.source


def test_the_page_tells_how_it_was_measured(page):
    for words in (
        "ruler, tip to tip",
        "mpu6050, calibrated 2026-05-17 at 22.0 °C from 12 poses",
        "22.0 to 22.0 °C in this session",
        "Datum 2026-05-17 07:54 UTC",
        "hingeline 0.1.0",
        "of 2 sensors taken off and counted",
        "Signature",
        "Trailing edge up is +",
        NOT_A_CLEARANCE,
    ):
        assert words in page.text


def test_the_page_fetches_nothing_and_runs_nothing(page):
    assert not {"script", "img", "link", "iframe", "object", "embed", "form"} & set(page.tags)
    links = [value for name, value in page.attributes if name in ("href", "src", "xlink:href", "action")]
    assert all(link.startswith("#") for link in links)
    assert not re.findall(r"url\((?!#)|@import", page.source)


def test_ids_are_the_page_s_own(page):
    ids = Counter(value for name, value in page.attributes if name == "id")
    assert ids
    assert max(ids.values()) == 1
    used = {value[1:] for name, value in page.attributes if name == "xlink:href"}
    used |= set(re.findall(r"url\(#([^)]+)\)", page.source))
    assert used <= set(ids)


def test_each_plot_only_where_there_is_data(then, now):
    assert [plot.title for plot in plots(now)] == [
        "flap: deflection over time",
        "elevator: left against right, tracking and hysteresis",
        "elevator: play",
        "elevator: centring",
        "Calibration residuals",
        "Where the uncertainty comes from",
    ]
    assert [plot.title for plot in plots(then)] == ["elevator: play", "Where the uncertainty comes from"]
    assert len(Page(report_page(now)).drawings) == 6


def test_the_course_goes_through_what_was_read(now):
    found = [course for recorded in now.runs for course in courses(recorded)]
    assert [(course.side, len(course.plateaus)) for course in found] == [("left", 3), ("right", 3)] * 2
    for course in found:
        for rest in course.plateaus:
            held = (course.time_s > rest.time_s - 0.5) & (course.time_s <= rest.time_s)
            # the rest and these lines have 0.5 s in common, of 400 µg/√Hz: 0.023° (tests/calibration), times 3
            assert course.deflection_deg[held].mean() == pytest.approx(rest.deflection_deg, abs=0.07)
            assert course.steady[held].mean() > 0.7  # the next move may have begun when it was recorded
        assert not course.steady.all()  # the stick went fast in between
        assert np.abs(course.length_mg).max() < 2


def test_only_the_colours_of_the_design(page):
    used = {colour.lower() for colour in re.findall(r"#[0-9a-fA-F]{6}\b", page.source)}
    ours = {"#1a1a1a", "#595959", "#bfbfbf", "#ffffff", "#f3f1ec", "#0072b2", "#d55e00", "#e6e6e6"}
    assert used <= ours


def test_readings_are_counted_by_events(now):
    events = sum(len(reading.judgements) for reading in now.readings)
    assert events == sum(len(row.readings) for row in now.rows)


def test_what_to_turn_stands_in_the_report_as_it_was_told_last(made):
    change = {"name": "low rate", "text": "set the low rate from 100 % to 80 %", "now_percent": 100, "new_percent": 80}
    reading = {"surface": "flap", "mode": "low", "command": "up", "judgements": [judged()]}
    first = {"surface": "flap", "changes": [{**change, "name": "left end point up"}]}
    last = {"surface": "flap", "changes": [change], "remaining": ["left down (high)"]}
    page = Page(report_page(made(("throw", reading), ("settings", first), ("settings", last))))
    assert "What to turn" in page.text
    assert "flap, low rate set the low rate from 100 % to 80 %" in page.text
    assert "flap, left down (high) no setting does that alone" in page.text
    assert "left end point up" not in page.text


@pytest.mark.parametrize(
    ("number", "text"), [(1.234, "+1.23°"), (-1.238, "−1.24°"), (0.004, "0.00°"), (-0.004, "0.00°"), (10.0, "+10.00°")]
)
def test_a_number_has_a_sign_and_zero_has_none(number, text):
    """SI Brochure (9th edition, 5.4.4 and 5.4.7): a space or none before the unit; minus is U+2212."""
    assert signed(number, 2, "°") == text


@pytest.mark.parametrize(
    ("unit", "travel", "text"),
    [("mm", True, "−8.70 ±0.30"), ("mm", False, "−10.00° ±0.10"), ("deg", True, "−10.00° ±0.10")],
)
def test_what_was_measured_stands_in_the_unit_of_its_verdict(made, unit, travel, text):
    mm = {"mm": -8.7, "convention": "chord", "interval_95_mm": [-9.0, -8.4]}
    reading = {"surface": "flap", "mode": "normal", "command": "down"}
    visit = made(("throw", {**reading, "judgements": [judged(deg=-10.0, unit=unit, travel=mm if travel else None)]}))
    assert value(visit.rows[0].as_found).replace("\N{NARROW NO-BREAK SPACE}", " ").replace(" mm", "") == text


@pytest.mark.parametrize("is_close", [True, False])
def test_a_close_call_says_so(made, is_close):
    reading = {"surface": "flap", "mode": "normal", "command": "up", "judgements": [judged(close=is_close)]}
    assert ("limit within ±" in Page(report_page(made(("throw", reading)))).text) is is_close


def left_to_do(made, **judgements):
    """The sides that stand first in the list of a throw, each outside, with its advice or none."""
    names = {"left": "left", "right": "right", "apart": "left - right"}
    readings = [
        judged(names[side], deg=9.0, verdict="LESS", inside=False, advice=advice) for side, advice in judgements.items()
    ]
    throw = {"surface": "flap", "mode": "normal", "command": "up", "judgements": readings}
    page = Page(report_page(made(("throw", throw))))
    return re.findall(r"<b>flap, up · normal, ([^<]+)</b>", page.source)


def test_left_against_right_is_to_do_only_where_no_advice_on_a_side_cures_it(made):
    assert left_to_do(made, left="100 → 93 %", apart="") == ["left"]
    assert left_to_do(made, left="", apart="") == ["left", "left\xa0−\xa0right"]
    assert left_to_do(made, left="100 → 93 %", right="100 → 95 %") == ["left", "right"]


def check(*inside):
    results = [
        {
            "name": f"left, play {number}",
            "value": 0.5,
            "unit": "deg",
            "standard_uncertainty": 0.1,
            "interval_95": [0.3, 0.7],
            "limit": 1.0 if is_inside else 0.2,
            "inside": is_inside,
        }
        for number, is_inside in enumerate(inside)
    ]
    return "play", {"surface": "flap", "check": "play", "results": results}


def test_the_head_counts_what_holds(made):
    """Of two readings one, of three checks two; without a sheet it is said below that nobody knows what is missing."""
    throw = {"surface": "flap", "mode": "normal", "command": "up"}
    out = judged(deg=9.0, verdict="LESS", inside=False)
    visit = made(("throw", {**throw, "judgements": [judged("right"), out]}), check(True, True, False))
    page = Page(report_page(visit))
    counts = "1 of 2 readings are within the tolerance you set; 2 of 3 further checks within their limit."
    assert f'<p class="sum">{counts}</p>' in page.source
    assert page.text.count("BEYOND") == 2, "with what is left to do, and beside its limit"
    assert "BEYOND +0.50° flap, play, left, play 2" in page.text
    direction = {"surface": "flap", "command": "up", "sides": {}}
    assert '<p class="sum">Directions only.</p>' in report_page(made(("direction", direction))).decode()


@pytest.mark.parametrize(
    ("tilt_deg", "text"),
    [
        (None, "2026-05-17 08:00 UTC"),
        (0.254, "2026-05-17 08:00 UTC; the flat was tilted 0.25°, which reversal took out"),
    ],
)
def test_the_datum_is_told_with_what_a_reversal_took_out(made, tilt_deg, text):
    datum = {"date": "2026-05-17T08:00:00+00:00", "table_tilt_deg": tilt_deg}
    reading = {"surface": "flap", "mode": "normal", "command": "up", "judgements": [judged()]}
    visit = made(("loaded", {"name": "datum", "key": "bench", "payload": datum}), ("throw", reading))
    assert f"<dt>Datum</dt><dd>{text}</dd>" in report_page(visit).decode()


@pytest.mark.parametrize("temperature_c", [None, 21.26])
@pytest.mark.parametrize("poor", [(), ("noise", "table")])
def test_a_calibration_is_told_with_its_temperature_and_what_is_poor_of_it(now, temperature_c, poor):
    recorded = now.runs[0]
    name, calibration = next(iter(recorded.calibrations.items()))
    calibration = replace(calibration, temperature_c=temperature_c).marked_poor(poor)
    runs = (replace(recorded, calibrations={name: calibration}, lines={}),)
    text = Page(report_page(Results("x", runs))).text
    assert ("calibrated 2026-05-17 at 21.3 °C from 12 poses" in text) is (temperature_c is not None)
    assert ("calibrated 2026-05-17 from 12 poses" in text) is (temperature_c is None)
    assert "in this session" not in text, "no sample told a temperature"
    assert ("kept although it is poor: noise, table" in text) is bool(poor)
    assert ("although" in text) is bool(poor)
