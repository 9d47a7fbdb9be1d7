"""What moved between two visits, beyond the uncertainty."""

import json

import numpy as np
import pytest
from scipy.stats import norm
from tests.host.report.conftest import judged, run
from tests.host.report.pages import Page
from tests.host.report.test_sessions import FOLDERS

from hingeline.errors import UsageProblem
from hingeline.report.compare import compare
from hingeline.report.overlay import overlays
from hingeline.report.page import compare_page
from hingeline.report.seasons import courses, seasons_table


def by_key(comparison):
    return {(one.surface, one.position, one.name): one for one in comparison.changes}


def throw(deg, sd_deg=0.05, what="left", **changes):
    measured = {**judged(what, deg)["measured"], "standard_uncertainty_deg": sd_deg}
    judgement = judged(what, deg, measured=measured, **changes)
    return "throw", {"surface": "flap", "mode": "normal", "command": "up", "judgements": [judgement]}


def test_flaps_that_were_set_have_moved(then, now):
    changes = by_key(compare(then, now))
    moved = changes["flap", "down · normal", "left"]
    # truths of the scenario: -26.4° before, set to -24.5°
    assert moved.change == pytest.approx(1.9, abs=moved.reach_95)
    assert moved.moved
    assert changes["flap", "neutral", "left - right"].change == pytest.approx(1.8, abs=0.2)
    back = changes["flap", "back at neutral · normal", "left"]
    assert not back.moved
    assert back.word == "as before"


def test_play_that_has_grown(then, now):
    changes = by_key(compare(then, now))
    left = changes["elevator", "play", "left, play"]
    # truths: 0.57° and 0.9° at a chord of 42 mm, 2c sin(δ/2)
    assert left.old == pytest.approx(0.418, abs=0.05)
    assert left.new == pytest.approx(0.660, abs=0.05)
    assert left.word == "grown"
    assert changes["elevator", "play", "right, play"].word == "as before"


def test_what_was_measured_once_is_told(then, now):
    comparison = compare(then, now)
    assert "elevator, sweep, hysteresis, left against right" in comparison.only_new
    assert "elevator, centring, left, hysteresis" in comparison.only_new
    assert comparison.only_old == ()


def test_the_reach_holds_for_all_changes_together(made):
    old, new = made(throw(5.0, 0.03)), made(throw(5.1, 0.04))
    (change,) = compare(old, new).changes
    # standard uncertainties of 0.03° and 0.04° make 0.05°
    assert change.reach_95 == pytest.approx(0.05 * norm.ppf(0.975))


def test_nothing_moved_is_said_of_19_visits_in_20(made):
    random = np.random.default_rng(3)
    sides, visits, alarms = 8, 400, 0
    blank = [throw(5.0, what=f"part {side}") for side in range(sides)]
    old, new = made(*blank), made(*blank)
    changes = compare(old, new).changes
    factor = changes[0].reach_95 / np.hypot(0.05, 0.05)
    for _ in range(visits):
        alarms += bool(np.abs(random.normal(0, 1, sides)).max() > factor)
    # binomial with p = 5 %: 20 of 400, standard deviation 4.4
    assert abs(alarms - 20) < 3 * 4.4


def test_two_aircraft_of_a_pair_differ_or_are_alike(made):
    ours = made(throw(5.0), throw(3.0, what="right"))
    theirs = made(throw(6.0), throw(3.0, what="right"), aircraft="Fern Kestrel")
    comparison = compare(ours, theirs)
    assert comparison.heads == ("Moss Lantern", "Fern Kestrel")
    assert [change.word for change in comparison.changes] == ["differs", "alike"]
    text = Page(compare_page(comparison)).text
    assert "Two aircraft of a pair" in text
    assert "1 of 2 values differ by more than the uncertainty" in text
    assert "moved" not in text


def test_more_than_two_sessions_are_of_one_aircraft(made):
    with pytest.raises(UsageProblem, match="of Moss Lantern and Fern Kestrel"):
        compare(made(throw(5.0)), made(throw(5.0)), made(throw(5.0), aircraft="Fern Kestrel"))


def test_a_visit_is_not_compared_with_itself(made, now):
    with pytest.raises(UsageProblem, match="named twice"):
        compare(now, now)
    with pytest.raises(UsageProblem, match="named twice"):
        compare(now, made(throw(5.0)), now)


def test_seasons_are_the_values_of_every_session_with_their_reach(made):
    """Written down beside the events: 5.0°, 5.4° and, not measured that year, nothing on the right."""
    years = [
        made(throw(5.0, 0.03), throw(2.0, 0.03, what="right")),
        made(throw(5.4, 0.04)),
        made(throw(5.1, 0.05), throw(2.9, 0.03, what="right")),
    ]
    comparison = compare(*years)
    left, right = courses(comparison)
    assert left.place == ("flap", "up · normal", "left")
    assert [point.value for point in left.points] == [5.0, 5.4, 5.1]
    assert [point.reach_95 for point in left.points] == pytest.approx([0.0588, 0.0784, 0.098], abs=1e-4)  # 1.96 u
    assert [(point.session, point.value) for point in right.points] == [(0, 2.0), (2, 2.9)]
    first, *rest = seasons_table(comparison).decode("utf-8-sig").split("\r\n")
    rows = [dict(zip(first.split(","), row.split(","), strict=True)) for row in rest if row]
    assert [row["value"] for row in rows] == ["5.0", "5.4", "5.1", "2.0", "2.9"]
    # 0.1° of the left is within sqrt(0.03² + 0.05²) · 2.24 = 0.13°, 0.9° of the right beyond 0.095° (Bonferroni of two)
    assert [row["changed"] for row in rows] == ["", "", "no", "", "yes"]
    (caption,) = [plot.caption for plot in overlays(comparison) if plot.title == "flap, session by session"]
    assert "Beyond ± from the first to the last: up · normal, right +0.90°." in caption


def test_what_is_known_to_be_wrong_is_no_part_of_a_season(made):
    slipped = throw(17.0, verdict="NO VERDICT", wrong=True, reason="the sensor slipped", inside=False)
    (course,) = courses(compare(made(throw(5.0)), made(slipped), made(throw(5.1))))
    assert [point.session for point in course.points] == [0, 2]


def test_visits_with_nothing_in_common(made):
    old = made(throw(5.0, what="left"))
    new = made(throw(5.0, what="right"))
    with pytest.raises(UsageProblem, match="Nothing was measured both"):
        compare(old, new)


def test_the_page(then, now):
    page = Page(compare_page(compare(then, now)))
    assert "What moved from 2025-09-14 to 2026-05-17" in page.text
    assert "grown" in page.text
    assert len(page.drawings) == 3  # two surfaces, and every change
    assert compare_page(compare(then, now)) == compare_page(compare(then, now))


def test_the_command(tmp_path):
    output = tmp_path / "moved.html"
    outcome = run("compare", "Moss Lantern@2025", "Moss Lantern", "-o", str(output))
    assert outcome.status == 0
    assert "left, play" in outcome.stdout
    assert "grown" in outcome.stdout
    assert output.read_bytes().startswith(b"<!doctype html>")
    table = tmp_path / "seasons.csv"
    assert run("compare", "Moss Lantern@2025", "Moss Lantern", "--csv", str(table)).status == 0
    assert table.read_bytes().startswith(b"\xef\xbb\xbfsession,day,aircraft,")
    assert run("compare", "Moss Lantern").status == 2
    told = json.loads(run("compare", "Moss Lantern@2025", "Moss Lantern", "--json").stdout)
    assert told["moved"] == sum(one["moved"] for one in told["changes"]) > 5
    assert not output.with_name("other.html").exists()


def test_two_folders_of_one_day():
    outcome = run("compare", str(FOLDERS / "2026-05-17_10-03-20"), str(FOLDERS / "2026-05-17_10-12-24"))
    assert outcome.status == 0
    assert "from 2026-05-17 08:03 to 2026-05-17 08:12" in outcome.stdout


def test_the_place_of_the_worst_tracking_is_no_name(then, now):
    only = compare(then, now).only_new
    assert "elevator, sweep, tracking, left - right" in only
    assert "elevator, centring, left, spread at neutral" in only
    assert "elevator, sweep, left stops before right" in only


def test_an_angle_known_to_be_wrong_is_not_compared(made):
    """A sensor slipped: what it read is no change of the surface. What is known badly has its ±."""
    badly = throw(7.0, 0.8, "right", verdict="NO VERDICT", reason="known to ±1.60° only", inside=False)
    slipped = throw(17.0, verdict="NO VERDICT", wrong=True, reason="the sensor slipped", inside=False)
    old, new = made(throw(5.0), throw(5.0, what="right")), made(slipped, badly)
    for first, second in ((old, new), (new, old)):
        comparison = compare(first, second)
        assert list(by_key(comparison)) == [("flap", "up · normal", "right")]
        assert comparison.wrong == ("flap, up · normal, left: the sensor slipped",)
        assert (comparison.only_old, comparison.only_new) == ((), ())
        assert "Not compared, flap, up · normal, left: the sensor slipped." in Page(compare_page(comparison)).text


def test_play_that_was_taken_out_is_less(then, now):
    assert by_key(compare(now, then))["elevator", "play", "left, play"].word == "less"


def test_a_value_in_another_unit_is_not_compared(made):
    """Play in mm at one session and in degrees at the other."""

    def play(unit, value):
        result = {
            "name": "left, play",
            "value": value,
            "unit": unit,
            "standard_uncertainty": 0.01,
            "interval_95": [value - 0.02, value + 0.02],
            "limit": 1.0,
            "inside": True,
        }
        return "play", {"surface": "flap", "check": "play", "results": [result]}

    comparison = compare(made(throw(5.0), play("mm", 0.5)), made(throw(5.0), play("deg", 0.57)))
    assert list(by_key(comparison)) == [("flap", "up · normal", "left")]
    assert comparison.only_old == comparison.only_new == ("flap, play, left, play",)
