"""What a session says of itself: as found and as left, what stopped answering, temperatures, clocks set back."""

from collections import Counter
from dataclasses import replace

import pytest
from tests.host.report.conftest import judged

from hingeline.device.link.decoder import Line
from hingeline.device.samples import Sample
from hingeline.report.lines import Lines
from hingeline.report.results import Recorded, Results, read_session, to_minute
from hingeline.storage.runs import read_run
from hingeline.storage.sessions import Session, begin_run
from hingeline_protocol import messages

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
    first = {"s": Lines.of([sample(20.0), sample(None), sample(21.0)])}
    second = {"s": Lines.of([sample(23.5)]), "o": Lines.of([sample(9.0)]), "without": Lines.of([sample(None)])}
    both = results({"lines": first}, {"lines": second})
    assert both.range_c("s") == (20.0, 23.5)
    assert both.range_c("o") == (9.0, 9.0)
    assert both.range_c("without") is None
    assert both.range_c("nobody") is None


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


def test_a_clean_session_has_nothing_to_be_cautious_about(made):
    seats = ("sides", {"surface": "flap", "sides": {"left": {"sensor": "s", "hinge": [1, 0, 0]}}})
    assert made(seats, throw(5.0)).cautions == ()


def test_a_chip_that_was_lost_twice_and_came_back_is_counted_from_its_lines(tmp_path):
    introduction = (
        messages.Board(1, 1, "0.1.0", "pico", "e6614103e7", 1),
        messages.Sensor(1, 0, "mpu6050", 0, 0x68, 16384, 1000, 44, "absolute", "ok"),
        messages.Ok(1),
    )
    faults = [(0, "lost"), (1, "back"), (2, "lost"), (3, "back")]
    lines = [*introduction, *(messages.Fault(0, n, 20_000 * n, code, 5) for n, code in faults)]
    with begin_run(tmp_path, "Moss Lantern", "throws", choices={}) as recorder:
        recorder.lines(Line("COM3", 10_000_000 * n, messages.pack(line)) for n, line in enumerate(lines))
        kind, fields = throw(5.0)
        recorder.event(kind, **fields)
    cautions = read_session(Session((read_run(recorder.path),))).cautions
    assert "sensor e6614103e7-0 stopped answering 2 times during throws" in cautions


def test_a_throw_that_was_set_within_one_run_keeps_how_it_was_found(made):
    (row,) = made(throw(7.0), throw(5.0)).rows
    assert [judgement.measured.deg for judgement in row.readings] == [7.0, 5.0]


def test_the_last_neutral_before_the_hinge_was_found_is_no_verdict(made):
    """The hinge of the flap was found after its neutral was read twice: throws and other surfaces stay as they are."""

    def neutral(surface, deg):
        return "neutral", {"surface": surface, "judgements": [judged(deg=deg)]}

    axis = {"direction": [1, 0, 0], "yaw_sd_deg": 0.1, "elevation_sd_deg": 0.1}
    hinge = {"surface": "flap", "side": "left", "sensor_id": "s", "yaw_deg": 9.0, "beyond": True, "axis": axis}
    session = made(neutral("flap", 1.0), neutral("tab", 2.0), neutral("flap", 3.0), throw(5.0), ("hinge", hinge))
    rows = {(row.surface, row.position.split(" ")[0]): row for row in session.rows}
    first, last = rows["flap", "neutral"].readings
    assert (first.verdict, first.measured.deg, first.inside) == ("WITHIN", 1.0, True)
    assert (last.verdict, last.measured.deg, last.inside) == ("NO VERDICT", 3.0, False)
    assert "hingeline neutral" in last.to_do
    assert rows["flap", "up"].as_left.verdict == rows["tab", "neutral"].as_left.verdict == "WITHIN"


def test_setting_sheets_are_kept_where_there_is_something_to_turn_or_to_measure_again(made):
    change = {"name": "low rate", "text": "to 80 %"}
    sheets = [
        ("settings", {"surface": "flap", "changes": [change]}),
        ("settings", {"surface": "tab", "remaining": ["left down"]}),
        ("settings", {"surface": "rudder"}),
    ]
    assert [sheet.surface for sheet in made(throw(5.0), *sheets).settings] == ["flap", "tab"]
