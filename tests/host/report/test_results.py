"""What a session says of itself: as found and as left, what stopped answering, temperatures, clocks set back."""

from collections import Counter
from dataclasses import replace

import pytest
from tests.host.report.conftest import judged

from hingeline.device.samples import Sample
from hingeline.report.results import Recorded, Results, read_session, to_minute
from hingeline.storage.sessions import Session

UP = {"surface": "flap", "mode": "normal", "command": "up"}


def throw(deg, **fields):
    return "throw", {**UP, "judgements": [judged(deg=deg)], **fields}


def sample(temperature_c):
    return Sample("s", 0.0, (0.0, 0.0, 1.0), 4, temperature_c, 0)


@pytest.fixture
def results(record):
    """Runs, with changes of each (by its place), as the results of one session."""

    def of(*changes):
        run = record(throw(5.0))
        return Results("x", tuple(Recorded(run=run, **each) for each in changes))

    return of


def test_as_found_is_the_first_reading_and_as_left_the_last(record):
    """Measured in three runs, adjusted in between: 7, 6 and 5°."""
    (row,) = read_session(Session(tuple(record(throw(deg)) for deg in (7.0, 6.0, 5.0)))).rows
    assert [row.as_found.measured.deg, row.as_left.measured.deg, row.again.measured.deg] == [7.0, 5.0, 5.0]
    (row,) = read_session(Session((record(throw(7.0)),))).rows
    assert (row.as_found, row.again) == (row.as_left, None)


def test_neutral_comes_first_of_its_surface_and_surfaces_as_they_were_measured(made):
    rows = made(
        throw(5.0, surface="rudder"),
        throw(5.0),
        ("neutral", {"surface": "flap", "judgements": [judged()]}),
        ("neutral", {"surface": "rudder", "judgements": [judged()]}),
    ).rows
    places = [(row.surface, row.position.split(" ")[0]) for row in rows]
    assert places == [("rudder", "neutral"), ("rudder", "up"), ("flap", "neutral"), ("flap", "up")]


def test_a_sensor_that_stopped_answering_is_named_with_how_often(results):
    cautions = results({"faults": Counter({"s": 3})}).cautions
    assert "sensor s stopped answering 3 times during throws" in cautions


@pytest.mark.parametrize(
    ("bad", "lost", "is_told"), [((0, 0), (0, 0), False), ((2, 1), (0, 0), True), ((0, 0), (0, 4), True)]
)
def test_damaged_and_missing_lines_of_all_runs_are_told_together(results, bad, lost, is_told):
    runs = [{"bad": some, "lost": missing} for some, missing in zip(bad, lost, strict=True)]
    expected = f"{sum(bad)} damaged lines and {sum(lost)} missing ones on the cables; no figure rests on them"
    assert (expected in results(*runs).cautions) == is_told
    assert is_told or not any("damaged" in caution for caution in results(*runs).cautions)


def test_temperatures_are_those_of_all_runs_where_the_chip_told_them(results):
    runs = ({"samples": {"s": [sample(20.0), sample(None)]}}, {"samples": {"s": [sample(23.5)], "o": [sample(9.0)]}})
    assert results(*runs).temperatures_c("s") == [20.0, 23.5]
    assert results(*runs).temperatures_c("nobody") == []


def test_what_an_unknown_event_holds_is_left_out_and_counted_over_the_runs(results):
    cautions = results({"skipped": Counter({"of a kind unknown": 2})}, {"skipped": Counter({"of a kind unknown": 1})})
    assert "left out of this report: 3 events of a kind unknown" in cautions.cautions


@pytest.mark.parametrize(("second", "is_told"), [("09:00:00", True), ("10:00:00", False), ("11:00:00", False)])
def test_a_run_dated_before_the_one_recorded_before_it_is_told(record, second, is_told):
    run = record(throw(5.0))
    runs = [replace(run, started=f"2026-03-01T{time}+00:00") for time in ("10:00:00", second)]
    cautions = Results("x", tuple(Recorded(run=each) for each in runs)).cautions
    assert any("was recorded after throws of 2026-03-01T10:00:00+00:00" in caution for caution in cautions) is is_told


def test_without_the_seats_of_the_sensors_deflection_over_time_is_left_out(made):
    expected = "no run records which sensor sat on which side: deflection over time is left out"
    assert expected in made(throw(5.0)).cautions
    seats = ("sides", {"surface": "flap", "sides": {"left": {"sensor": "s", "hinge": [1, 0, 0]}}})
    assert expected not in made(seats, throw(5.0)).cautions


def test_a_date_to_the_minute_day_and_aircraft(made):
    assert to_minute("2026-03-01T10:17:59+00:00") == "2026-03-01 10:17"
    results = made(throw(5.0))
    started = results.runs[0].run.started
    assert (results.day, results.minute, results.aircraft) == (started[:10], to_minute(started), "Moss Lantern")
