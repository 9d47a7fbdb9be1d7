"""Readings: of a frozen sensor there are none, a user may confirm one, and how long a sensor moved is known."""

import doctest

import numpy as np
import pytest

from hingeline.device.samples import BoardGone, Sample, SensorFault, SensorInfo, Tick
from hingeline.errors import BoardLost, NotMeasurable
from hingeline.measure import capture as module
from hingeline.measure.capture import HOLD_S, Capture

LINE_S = 0.02
INFO = SensorInfo("s", "pico", "port", "mpu6050", 0, 0x68, 16384, 200, 44, "absolute", "ok")
NOISE_COUNTS = 60


def events(*, frozen_from_s=float("inf"), until_s=200.0, missing_s=(), told=False, moving=(), sensor_id="s"):
    """Lines of one sensor, noisy but where it is frozen; some may be missing, told by faults or not.

    It swings while `moving`, pairs of times, and comes to rest elsewhere.
    """
    noise = np.random.default_rng(1)
    counts = (0.0, 0.0, 16384.0)
    for number in range(round(until_s / LINE_S)):
        time_s = number * LINE_S
        if time_s < frozen_from_s:
            angle = sum(3000 * (min(max(time_s, start_s), end_s) - start_s) for start_s, end_s in moving)
            counts = tuple(noise.normal((angle, 0, 16384), NOISE_COUNTS))
        if told and time_s in (missing_s[0], missing_s[-1]):
            yield SensorFault(sensor_id, time_s, "lost" if time_s == missing_s[0] else "back", 5)
        if time_s not in missing_s:
            yield Sample(sensor_id, time_s, counts, 4, 24.0, number % 65536)


def next_reading(capture, source):
    """The next readings of a capture, and the time of the event that completed them; None at the end."""
    for event in source:
        readings = capture.push(event)
        if readings is not None:
            return readings, event.time_s
    return None


def test_the_example_of_the_docstring_holds():
    assert doctest.testmod(module).failed == 0


def test_a_frozen_sensor_is_noticed_and_gives_no_reading():
    capture, source = Capture({"s": INFO}), events(frozen_from_s=5.0)
    capture.expect()
    assert next_reading(capture, source)
    capture.expect(standing_s=10, patience_s=30)
    frozen_s = []

    def watched():
        for event in source:
            yield event
            frozen_s.extend([event.time_s] if capture.frozen else [])

    with pytest.raises(BoardLost, match="frozen"):
        next_reading(capture, watched())
    assert frozen_s[0] == pytest.approx(5.3, abs=2 * LINE_S), "an alarm comes within half a second: trade, no source"


def test_an_axis_that_repeats_itself_while_others_vary_is_dead():
    """A broken joint: x keeps its value, though no line of three repeats."""
    capture, frozen_s = Capture({"s": INFO}), []
    capture.expect(patience_s=30)
    for event in events(until_s=20):
        dead = event._replace(counts=(17.0, *event.counts[1:])) if event.time_s > 5 else event
        capture.push(dead)
        frozen_s.extend([event.time_s] if capture.frozen else [])
    assert frozen_s[0] == pytest.approx(7.0, abs=3 * LINE_S)
    assert frozen_s[-1] == pytest.approx(20, abs=2 * LINE_S)


def test_noise_never_looks_frozen():
    capture = Capture({"s": INFO})
    capture.expect()
    for event in events(until_s=60):
        capture.push(event)
        assert not capture.frozen


def test_a_reading_may_be_taken_though_nothing_moved():
    capture, source = Capture({"s": INFO}), events()
    capture.expect()
    assert next_reading(capture, source)
    assert not capture.confirmed
    capture.expect()
    for event in source:
        if event.time_s > 10:
            break
        assert capture.push(event) is None
    capture.take_now()
    _, time_s = next_reading(capture, source)
    assert time_s < 10.1
    assert capture.confirmed
    assert not capture.moved
    capture.expect()
    assert not capture.confirmed  # it holds for one reading


@pytest.mark.parametrize("told", [False, True], ids=["lines are lost", "the sensor is"])
def test_a_silence_in_which_nothing_moves_makes_no_new_reading(told):
    """A reading of where it was would be taken for the position that is asked for."""
    missing_s = [number * LINE_S for number in range(100, 140)]
    capture, source = Capture({"s": INFO}), events(missing_s=missing_s, told=told)
    capture.expect()
    first, _ = next_reading(capture, source)
    capture.expect(standing_s=10)
    again, time_s = next_reading(capture, source)
    assert time_s > 10
    assert not capture.moved
    assert again["s"].start_s == first["s"].start_s


def test_a_lost_sensor_is_known_until_it_answers_again():
    missing_s = [number * LINE_S for number in range(100, 140)]
    capture = Capture({"s": INFO})
    lost_s = [
        event.time_s
        for event in events(until_s=4, missing_s=missing_s, told=True)
        if not capture.push(event) and capture.lost
    ]
    assert lost_s == [missing_s[0]]
    assert not capture.lost


def test_how_long_a_sensor_moved_is_known_and_begins_anew_with_each_reading():
    capture, source = Capture({"s": INFO}), events(moving=((5.0, 7.0),))
    capture.expect()
    assert next_reading(capture, source)
    capture.expect()
    _, time_s = next_reading(capture, source)
    assert time_s == pytest.approx(7.0 + HOLD_S, abs=0.5)
    assert capture.moved
    assert capture.moved_s["s"] == pytest.approx(2.0, abs=0.4)
    capture.expect()
    assert capture.moved_s == {"s": 0.0}


def test_all_may_have_to_move():
    """The other one moves at 20 s alone."""
    both = {"s": INFO, "o": INFO}
    lines = sorted(
        [
            *events(moving=((5.0, 6.0),), until_s=40),
            *events(moving=((20.0, 21.0),), until_s=40, sensor_id="o"),
        ],
        key=lambda event: event.time_s,
    )
    for expected, earliest_s in (({}, 6.0), ({"all_moved": False}, 6.0), ({"all_moved": True}, 21.0)):
        capture, source = Capture(both), iter(lines)
        capture.expect()
        assert next_reading(capture, source)
        capture.expect(**expected)
        _, time_s = next_reading(capture, source)
        assert time_s == pytest.approx(earliest_s + HOLD_S, abs=0.5)
        assert capture.moved


def test_the_one_that_does_not_come_to_rest_is_named():
    both = {"s": INFO, "o": INFO}
    lines = sorted(
        [*events(until_s=40), *events(moving=((0.0, 300.0),), until_s=40, sensor_id="o")],
        key=lambda event: event.time_s,
    )
    capture = Capture(both)
    capture.expect(patience_s=30)
    with pytest.raises(NotMeasurable, match=r"No new reading in 30 s: sensor o still moves"):
        next_reading(capture, lines)


def test_what_is_taken_already_has_to_move_first():
    capture, source = Capture({"s": INFO}, is_taken=True), events(moving=((5.0, 6.0),), until_s=20)
    _, time_s = next_reading(capture, source)
    assert time_s == pytest.approx(6.0 + HOLD_S, abs=0.5)


def test_one_that_is_left_out_is_waited_for_no_more():
    both = {"s": INFO, "o": INFO}
    capture, source = Capture(both), events()
    for event in source:
        assert capture.push(event) is None  # the other one has said nothing
        if event.time_s > 5:
            break
    capture.leave_out("o")
    readings, time_s = next_reading(capture, source)
    assert time_s < 5.1
    assert set(readings) == {"s"}


@pytest.mark.parametrize(
    ("moving", "words"),
    [((), "nothing moved"), (((5.0, 300.0),), "still moves")],
    ids=["at rest", "on the move"],
)
def test_patience_ends_and_says_why(moving, words):
    capture, source = Capture({"s": INFO}), events(moving=moving)
    capture.expect()
    assert next_reading(capture, source)
    capture.expect()
    with pytest.raises(NotMeasurable, match=words):
        next_reading(capture, source)
    assert next(source).time_s == pytest.approx(120 + 2 * HOLD_S, abs=1.5)


def test_a_board_that_has_gone_is_raised_and_the_end_of_a_beat_changes_nothing():
    capture, gone = Capture({"s": INFO}), BoardLost("It was pulled", "Plug it in")
    assert capture.push(Tick(1e9)) is None
    assert capture.moving == {"s"}
    with pytest.raises(BoardLost, match="pulled"):
        capture.push(BoardGone(0.0, gone))
