"""A board whose answers come late: an emulated one, or one that is still starting; the firmware behind a slow cable."""

import itertools
import re
from time import perf_counter

import pytest
from tests.boards import ALPHA, RIGHT, take

from hingeline.device.link import conversation
from hingeline.device.link.fleet import Fleet
from hingeline.errors import BoardLost


def introductions_late(late_s):
    """Return a pace of a cable that hands on each answer to a `hello` late by the next of these times, then at once."""

    def pace(data):
        at_once, *answers = re.split(rb"(?=board [1-9])", data)
        return [(0.0, at_once), *((next(late_s, 0.0), answer) for answer in answers)]

    return pace


def count_hellos(cable):
    """Return a list that grows with each `hello` that the host sends."""
    hellos = []

    def pass_on(line):
        hellos.extend([line] * line.startswith(b"hello "))
        return line

    cable.spoil_request = pass_on
    return hellos


def test_a_slow_board_is_waited_for_in_all_it_is_asked(cable, monkeypatch):
    """Looking for its chips takes it longer than the patience with a port where nothing is answered."""
    monkeypatch.setattr(conversation, "START_S", 1.0)
    cable.pace = introductions_late(itertools.repeat(3.0))
    hellos, texts = count_hellos(cable), []
    with Fleet([cable.name], say=texts.append) as fleet:
        assert list(fleet.sensors) == list(ALPHA)
        assert texts == [f"Waiting for the board at {cable.name} …"]
        assert len(hellos) == 2, "none is repeated while one is pending; the second tells how slow the board is"
        cable.pace = lambda data: [(0.8, data)]
        (link,) = fleet.boards
        link.store_calibration(RIGHT, b"x")
        assert link.keeps_calibration(RIGHT, b"x")
        fleet.start()
        assert {event.sensor_id for event in take(fleet, 20)} == set(ALPHA)
        fleet.stop()


def test_a_board_that_is_slow_at_first_is_not_waited_for_longer_than_others(cable):
    cable.pace = introductions_late(iter([2.0]))
    with Fleet([cable.name]) as fleet:
        assert fleet.boards[0].patience_s == conversation.PATIENCE_S


def test_a_board_that_hears_nothing_while_it_starts_is_asked_again(cable):
    """As an ESP32 that is reset by the opening of its port."""
    unheard = iter([b""] * 4)
    cable.spoil_request = lambda line: next(unheard, line)
    with Fleet([cable.name]) as fleet:
        assert list(fleet.sensors) == list(ALPHA)
    assert next(unheard, None) is None


def test_a_board_that_falls_silent_before_the_recording_is_waited_for_no_longer_than_any(cable):
    """What is promised is a time: less than that of a board that starts."""
    with Fleet([cable.name]) as fleet:
        cable.pace = lambda data: []
        began_s = perf_counter()
        with pytest.raises(BoardLost, match="fell silent"):
            fleet.record(lambda lines: None)
        took_s = perf_counter() - began_s
    assert conversation.PATIENCE_S - 0.1 < took_s < 2 * conversation.PATIENCE_S
