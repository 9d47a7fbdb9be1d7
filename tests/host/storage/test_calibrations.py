"""Calibrations in two places: on this computer and on a board, which a stand-in plays."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from tests.calibration import simulate as sim

from hingeline.device.samples import SensorInfo
from hingeline.errors import BoardRefused, CopiesDiffer, NotMeasurable, NotStored, StoreError
from hingeline.storage.calibrations import (
    KIND,
    check_copies,
    choose_copy,
    keep_calibration,
    load_calibration,
    load_instruments,
)
from hingeline.storage.sealed import seal
from hingeline.storage.store import Store
from hingeline_calibration.errors import NewerRecord

RNG = np.random.default_rng(1)
BENCH = sim.draw(RNG, 1)
OLD = replace(sim.calibrated(BENCH, sim.poses_of(BENCH, RNG, sim.POSES["6"])[0]), date="2026-01-01T10:00:00+00:00")
NEW = replace(OLD, date="2026-02-01T10:00:00+00:00")
ID = OLD.sensor_id


class Board:
    """A board with one sensor: it is what a fleet finds, and the link to it."""

    port = "COM3"

    def __init__(self, kept=None, state="ok"):
        self.kept = None if kept is None else seal(KIND, kept.sensor_id, kept.to_dict())
        self.sensors = {ID: SimpleNamespace(state=state)}
        self.streams, self.refuses = True, ""

    def locate(self, sensor_id):
        assert sensor_id == ID
        return self, 0

    def stop(self):
        self.streams = False

    def store_calibration(self, index, content):
        if self.refuses:
            raise BoardRefused(self.refuses, "try again", "store")
        self.kept = content

    def keeps_calibration(self, index, content):
        if self.refuses:
            raise BoardRefused(self.refuses, "try again", "store")
        return (self.kept or b"") == content

    def fetch_calibration(self, index):
        return self.kept


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path)


@pytest.fixture
def notices():
    return []


def kept_by(store):
    payload = store.find(KIND, ID)
    return payload and payload["date"]


def full(*_):
    raise StoreError("The disk is full", "make room")


def test_a_calibration_is_kept_in_both_places_once_the_stream_has_ended(store):
    board = Board()
    assert keep_calibration(store, board, NEW) == "kept on this computer and on its board"
    assert (kept_by(store), board.streams) == (NEW.date, False)
    assert board.kept == seal(KIND, ID, NEW.to_dict())


def test_a_board_that_refuses_leaves_it_on_the_computer(store):
    board = Board()
    board.refuses = "its store is full"
    assert "not on the board: its store is full" in keep_calibration(store, board, NEW)
    assert kept_by(store) == NEW.date


def test_a_computer_that_cannot_keep_it_says_whether_the_board_does(store, monkeypatch):
    monkeypatch.setattr(store, "save", full)
    board = Board()
    with pytest.raises(StoreError, match="The disk is full; its board keeps it") as problem:
        keep_calibration(store, board, NEW)
    assert "--from board" in problem.value.cure
    assert board.kept
    board.refuses = "no room"
    with pytest.raises(StoreError, match="The disk is full; nor on the board: no room") as problem:
        keep_calibration(store, board, NEW)
    assert problem.value.cure.endswith("then calibrate it again")


def test_what_only_the_board_keeps_is_brought_here(store, notices):
    check_copies(store, Board(OLD), notices.append)
    assert kept_by(store) == OLD.date
    assert notices == [f"Sensor {ID}: its board brought its calibration of {OLD.date}; kept here too."]


@pytest.mark.parametrize(("mine", "theirs"), [(None, None), (OLD, OLD), (OLD, None)])
def test_nothing_to_bring_says_nothing(store, notices, mine, theirs):
    if mine:
        store.save(KIND, ID, mine.to_dict())
    check_copies(store, Board(theirs), notices.append)
    assert notices == []
    assert kept_by(store) == (mine and mine.date)


@pytest.mark.parametrize(
    ("mine", "theirs", "difference"),
    [
        (OLD, NEW, "its board's is newer"),
        (NEW, OLD, "this computer's is newer"),
        (OLD, replace(OLD, residual_mg=1.0), "of one date, and not the same"),
    ],
)
def test_two_copies_that_differ_are_named_and_left(store, notices, mine, theirs, difference):
    store.save(KIND, ID, mine.to_dict())
    with pytest.raises(CopiesDiffer, match=difference):
        check_copies(store, Board(theirs), notices.append)
    assert kept_by(store) == mine.date


def test_a_sensor_that_does_not_answer_and_a_board_that_refuses_are_passed_over(store, notices):
    check_copies(store, Board(OLD, state="absent"), notices.append)
    assert (notices, kept_by(store)) == ([], None)
    board = Board(OLD)
    board.refuses = "busy"
    check_copies(store, board, notices.append)
    assert "busy" in notices[0]
    assert kept_by(store) is None


@pytest.mark.parametrize(
    "content", [b"no seal", seal(KIND, "another", OLD.to_dict()), seal(KIND, ID, {"kind": KIND, "format": 1})]
)
def test_a_boards_copy_that_is_damaged_or_anothers_is_told_and_left(store, notices, content):
    board = Board()
    board.kept = content
    check_copies(store, board, notices.append)
    assert notices
    assert kept_by(store) is None


def test_the_copy_that_is_chosen_is_in_both_places(store):
    store.save(KIND, ID, NEW.to_dict())
    board = Board(OLD)
    assert choose_copy(store, board, ID, "board").date == OLD.date
    assert kept_by(store) == OLD.date
    store.save(KIND, ID, NEW.to_dict())
    assert choose_copy(store, board, ID, "host").date == NEW.date
    assert board.kept == seal(KIND, ID, NEW.to_dict())


def test_a_copy_that_is_not_there_cannot_be_chosen(store):
    with pytest.raises(NotStored, match="The board at COM3 keeps no calibration"):
        choose_copy(store, Board(), ID, "board")
    with pytest.raises(NotStored):
        choose_copy(store, Board(OLD), ID, "host")


def test_a_board_that_a_later_version_calibrated_is_refused(store, notices):
    """Its calibration is sound: nothing here may take its place."""
    board = Board()
    board.kept = seal(KIND, ID, {**OLD.to_dict(), "format": 99})
    with pytest.raises(NewerRecord):
        check_copies(store, board, notices.append)


@pytest.mark.parametrize(
    ("changes", "is_refused"), [({}, False), ({"chip": "lis3dh"}, True), ({"counts_per_g": 8192.0}, True)]
)
def test_a_calibration_is_of_the_chip_that_answers(store, changes, is_refused):
    """A module that was replaced by another one, under the same id."""
    store.save(KIND, ID, OLD.to_dict())
    chip, counts_per_g = (changes.get(name, getattr(OLD, name)) for name in ("chip", "counts_per_g"))
    sensor = SensorInfo(ID, "pico", "port", chip, 0, 104, counts_per_g, 200, 44, "absolute", "ok")
    if is_refused:
        with pytest.raises(NotMeasurable, match=f"it was calibrated as a {OLD.chip} of {OLD.counts_per_g:g}"):
            load_calibration(store, sensor)
        return
    (instrument,) = load_instruments(store, {"left": ID}, {ID: sensor})
    assert (instrument.side, instrument.sensor_id, instrument.calibration.date) == ("left", ID, OLD.date)
