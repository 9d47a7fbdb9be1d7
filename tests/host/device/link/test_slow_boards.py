"""A board whose answers come late: an emulated one, or one that is still starting; the firmware behind a slow cable."""

import itertools
import re

import pytest
from tests.boards import ALPHA, RIGHT, take

from hingeline.device.link.fleet import Fleet
from hingeline.errors import BoardLost


def introductions_late(late_s):
    """Return a pace of a cable that hands on each answer to a `hello` late by the next of these times, then at once."""

    def pace(data):
        at_once, *answers = re.split(rb"(?=board [1-9])", data)
        return [(0.0, at_once), *((next(late_s, 0.0), answer) for answer in answers)]

    return pace


def test_a_slow_board_is_waited_for_in_all_it_is_asked(cable, monkeypatch):
    """Looking for its chips takes it longer than all usual patience together, and each answer longer than one try."""
    monkeypatch.setattr("hingeline.device.link.board.INTRODUCTION_S", (0.2, 0.4))
    cable.pace = introductions_late(itertools.repeat(1.5))
    with Fleet([cable.name]) as fleet:
        assert list(fleet.sensors) == list(ALPHA)
        cable.pace = lambda data: [(0.8, data)]
        (link,) = fleet.boards
        link.store_calibration(RIGHT, b"x")
        assert link.keeps_calibration(RIGHT, b"x")
        fleet.start()
        assert {event.sensor_id for event in take(fleet, 20)} == set(ALPHA)
        fleet.stop()


def test_a_board_that_is_slow_at_first_is_not_waited_for_longer_than_others(cable, monkeypatch):
    monkeypatch.setattr("hingeline.device.link.board.INTRODUCTION_S", (0.1, 3.0))
    cable.pace = introductions_late(iter([2.0]))
    with Fleet([cable.name]) as fleet:
        assert fleet.boards[0]._talk.slowness < 10


def test_a_board_that_falls_silent_before_the_recording_is_waited_for_no_longer_than_any(cable, monkeypatch):
    monkeypatch.setattr("hingeline.device.link.board.INTRODUCTION_S", (0.3, 0.3))
    with Fleet([cable.name]) as fleet:
        monkeypatch.setattr("hingeline.device.link.board.SLOW_S", -1.0)
        asked = []
        cable.pace = lambda data: []
        (link,) = fleet.boards
        ask_once = link._talk.ask_once
        monkeypatch.setattr(
            link._talk,
            "ask_once",
            lambda *what, limit_s: asked.append(limit_s) or ask_once(*what, limit_s=limit_s),
        )
        with pytest.raises(BoardLost, match="fell silent"):
            fleet.record(lambda lines: None)
        assert asked == [0.3, 0.3]
