"""The results of a run, read back: what was taken back is none."""

import pytest

from hingeline.checks.results import (
    DirectionResult,
    NeutralResult,
    Seat,
    SidesResult,
    Skipped,
    ThrowResult,
    kind_of,
    write_result,
)
from hingeline.storage.recorder import Recorder
from hingeline.storage.results import read_results
from hingeline.storage.session_store import SHEET

SIDES = SidesResult("flap", {"left": Seat("a", (1.0, 0.0, 0.0))})
UP, DOWN = (ThrowResult("flap", "normal", command, ()) for command in ("up", "down"))
LEFT_OUT = Skipped("flap", "normal", "down")
BACK = DirectionResult("flap", "Stick back", {})
NEUTRAL = NeutralResult("flap", ())


@pytest.fixture
def kept(tmp_path):
    """Record events, results or the key B, and return the results that are kept besides which sensor sits where."""

    def read(*events):
        with Recorder(tmp_path / "1-throws.log") as recorder:
            for event in events:
                if event == "B":
                    recorder.event("key", key="back", after_s=0.0)
                elif isinstance(event, int):
                    recorder.event("key", key="back", after_s=0.0, results=event)
                else:
                    recorder.event(kind_of(event), **write_result(event))
        results = read_results(tmp_path / "1-throws.log")
        assert not results.skipped
        return [result for result in results.results if not isinstance(result, SidesResult)]

    return read


def test_each_key_takes_the_last_one_back(kept):
    assert kept(SIDES, UP, DOWN, "B", "B", DOWN) == [DOWN]


def test_what_was_left_out_is_taken_back_before_the_reading_before_it(kept):
    assert kept(SIDES, UP, LEFT_OUT, "B", DOWN) == [UP, DOWN]


def test_a_direction_and_a_neutral_are_taken_back(kept):
    assert kept(SIDES, BACK, "B", NEUTRAL, "B") == []


def test_of_sensors_that_sat_elsewhere_nothing_is_taken_back(kept):
    """The neutral from which throws count is no result, so taking it back takes no other one."""
    assert kept(SIDES, NEUTRAL, SIDES, "B") == [NEUTRAL]


def test_a_neutral_and_the_throws_that_it_voided_are_taken_back_together(kept):
    assert kept(SIDES, UP, DOWN, UP, DOWN, 2) == [UP, DOWN]


@pytest.mark.parametrize("malformed", [10**9, -3])
def test_a_number_of_results_that_nobody_writes_is_heeded_as_one(kept, malformed):
    assert kept(SIDES, UP, DOWN, malformed) == [UP]


def test_of_what_was_loaded_only_the_sheet_is_one(tmp_path):
    """Settings of another kind may hold a text, too."""
    with Recorder(tmp_path / "1-throws.log") as recorder:
        recorder.event("loaded", name="settings", key="other", payload={"text": "no sheet"})
        assert read_results(recorder.path).sheet is None
        recorder.event("loaded", name=SHEET, key="Even", payload={"text": "the sheet"})
        recorder.event("loaded", name=SHEET, key="Even", payload=None)
    assert read_results(tmp_path / "1-throws.log").sheet == "the sheet"


def test_how_a_reading_was_held_and_whether_the_model_was_watched(tmp_path):
    for number, (choices, expected) in enumerate(
        [
            ({"hold_s": 1.5, "fixed": "a"}, (1.5, True)),
            ({"hold_s": 0.5, "fixed": ""}, (0.5, False)),
            ({"hold_s": None}, (0.7, False)),  # the usual time, docs/reference.md
            ({"hold_s": 0}, (0.7, False)),
            ({"hold_s": -1.0}, (0.7, False)),
            ({"hold_s": "long"}, (0.7, False)),
            (5, (0.7, False)),
        ]
    ):
        with Recorder(tmp_path / f"{number}-throws.log", choices=choices) as recorder:
            pass
        results = read_results(recorder.path)
        assert (results.hold_s, results.fixed) == expected


def test_what_is_not_known_is_counted_and_what_is_no_result_is_not(tmp_path):
    with Recorder(tmp_path / "1-throws.log") as recorder:
        for kind in ("of next year", "of next year", "noise", "key"):
            recorder.event(kind)
        recorder.event("throw", surface=5)
        recorder.event("loaded", name="datum", key="bench", payload={})
    results = read_results(tmp_path / "1-throws.log")
    assert dict(results.skipped) == {
        "of a kind that this hingeline does not know, 'of next year'": 2,
        "'throw' with parts missing or not as expected": 1,
        "'loaded' with parts missing or not as expected": 1,
    }
    assert not results.measured


def test_the_datum_in_use_is_the_one_that_was_loaded_last(tmp_path):
    with Recorder(tmp_path / "1-throws.log") as recorder:
        assert read_results(recorder.path).datum is None
        recorder.event("loaded", name="settings", key="x", payload={"date": "2026-01-01"})
        recorder.event("loaded", name="datum", key="bench", payload={"date": "2026-05-17", "table_tilt_deg": 0.2})
        recorder.event("loaded", name="datum", key="bench", payload=None)
    datum = read_results(tmp_path / "1-throws.log").datum
    assert (datum.date, datum.table_tilt_deg) == ("2026-05-17", 0.2)
