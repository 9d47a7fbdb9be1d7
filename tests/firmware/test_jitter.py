"""Jitter as RFC 3550 defines it, and what of a board's lateness it is."""

import random
import sys
import time

import pytest

from hingeline_firmware.jitter import Jitter
from hingeline_protocol.messages import TICKS_PERIOD_US


def reference(behind_us):
    """RFC 3550, section 6.4.1, in real numbers: J(i) = J(i-1) + (|D(i-1,i)| - J(i-1))/16."""
    jitter, former = 0.0, 0
    for delay_us in behind_us:
        jitter += (abs(delay_us - former) - jitter) / 16
        former = delay_us
    return jitter


@pytest.mark.parametrize("spread_us", [10, 1000, 50000])
def test_it_is_that_of_the_rfc(spread_us):
    draw = random.Random(spread_us)
    behind_us = [draw.randrange(spread_us) for _ in range(500)]
    jitter = Jitter()
    for delay_us in behind_us:
        jitter.note(delay_us)
    assert jitter.mean_us == pytest.approx(reference(behind_us), abs=1.5)  # the integers of appendix A.8
    steps = [abs(b - a) for a, b in zip([0, *behind_us], behind_us, strict=False)]
    assert jitter.worst_us == max(steps)


def test_what_comes_evenly_late_does_not_jitter_and_what_was_is_forgotten():
    jitter = Jitter()
    for _ in range(200):
        jitter.note(300)
    assert (jitter.mean_us, jitter.worst_us) == (0, 300)
    jitter.begin()
    assert (jitter.mean_us, jitter.worst_us) == (0, 0)


class Late:
    """A board's clock: whatever it does, and its every sleep, may take longer than it should."""

    def __init__(self, now_us, draw):
        self.now_us = now_us
        self._draw = draw

    def ticks_us(self):
        self.now_us += self._draw.choice((1, 1, 1, 300))
        return self.now_us % TICKS_PERIOD_US

    def ticks_add(self, ticks, delta):
        return (ticks + delta) % TICKS_PERIOD_US

    def ticks_diff(self, later, earlier):
        half = TICKS_PERIOD_US // 2
        return (later - earlier + half) % TICKS_PERIOD_US - half

    def sleep_us(self, wait_us):
        self.now_us += wait_us + self._draw.choice((0, 0, 0, 4_999, 5_000, 17_000))


@pytest.mark.parametrize("seed", range(20))
def test_it_stays_below_a_readings_period_and_what_is_more_is_late(monkeypatch, seed):
    period_us, steps = 5_000, 400
    clock = Late(TICKS_PERIOD_US - 1_000_000, random.Random(seed))
    for name in ("ticks_us", "ticks_add", "ticks_diff", "sleep_us"):
        monkeypatch.setattr(time, name, getattr(clock, name), raising=False)
    monkeypatch.delitem(sys.modules, "hingeline_firmware.streamer", raising=False)
    from hingeline_firmware.streamer import Streamer

    streamer = Streamer(None, lines_hz=50, readings=4)
    began_us = clock.now_us
    streamer.start()
    for _ in range(steps):
        streamer.step()
    assert 0 < streamer.jitter.mean_us <= streamer.jitter.worst_us < period_us
    passed = (clock.now_us - began_us) / period_us
    assert streamer.late > 100
    assert steps + streamer.late == pytest.approx(passed, abs=1.1)
