"""Board time on the host's scale, over wraps, jitter and drift."""

import itertools
import random

import pytest

from hingeline.device.link.times import DRIFT_LIMIT, BoardClock
from hingeline_protocol.messages import TICKS_PERIOD_US


def run(times_s, *, start_ticks_us=0, drift=0.0, delay_s=lambda: 0.001):
    """Return the clock's times for lines that a board of a given drift takes at `times_s` of the host."""
    clock = BoardClock()
    ticks = [round(start_ticks_us + time_s * (1 + drift) * 1e6) % TICKS_PERIOD_US for time_s in times_s]
    return [
        clock.time_s(tick_us, round((time_s + delay_s()) * 1e9)) for tick_us, time_s in zip(ticks, times_s, strict=True)
    ]


def test_ticks_wrap_after_their_period():
    """2**30 µs: MicroPython's `ticks_us` on a 32-bit port (design figure, read on real MicroPython)."""
    times_s = [line * 0.02 for line in range(200)]
    found = run(times_s, start_ticks_us=TICKS_PERIOD_US - 2_000_000)
    assert [b - a for a, b in itertools.pairwise(found)] == pytest.approx([0.02] * 199, abs=1e-5)


def test_a_late_line_moves_the_clock_no_more_than_poor_crystals_drift():
    """Two crystals, each 100 ppm off, drift apart by 200 µs in a second; the line is 50 ms late."""
    delays_s = iter([0.0, 0.05, 0.0])
    first_s, late_s, next_s = run([10.0, 11.0, 12.0], delay_s=lambda: next(delays_s))
    assert late_s - first_s == pytest.approx(1.0 + 200e-6, abs=1e-8)
    assert next_s - first_s == pytest.approx(2.0, abs=1e-8)


@pytest.mark.parametrize("silence_s", [400.0, 540.0, 900.0, 1073.0, 1100.0, 5000.0])
def test_a_silence_longer_than_wraps_is_bridged(silence_s):
    first, second = run([10.0, 10.0 + silence_s], start_ticks_us=TICKS_PERIOD_US - 5_000_000)
    assert second - first == pytest.approx(silence_s, rel=2 * DRIFT_LIMIT)


def test_a_line_out_of_order_goes_back_by_its_own_time():
    clock = BoardClock()
    times = [clock.time_s(ticks_us, 1_000_000_000) for ticks_us in (1000, 21_000, 11_000, 31_000)]
    assert times == pytest.approx([1.0, 1.02, 1.01, 1.03], abs=1e-5)


def test_jitter_of_the_arrival_does_not_reach_the_times():
    rng = random.Random(1)
    times_s = [line * 0.02 for line in range(5000)]
    found = run(times_s, delay_s=lambda: rng.uniform(0.001, 0.016) + (rng.random() < 0.01) * 0.3)
    steps = [b - a for a, b in itertools.pairwise(found)]
    assert max(abs(step - 0.02) for step in steps) <= 0.02 * DRIFT_LIMIT + 1e-9


@pytest.mark.parametrize("drift", [-100e-6, 100e-6])
def test_a_poor_crystal_is_followed_for_hours(drift):
    rng = random.Random(2)
    times_s = [line * 0.1 for line in range(100_000)]  # 2.8 hours, in which 100 ppm make 1 s
    found = run(times_s, drift=drift, delay_s=lambda: rng.uniform(0.001, 0.016))
    assert abs(found[-1] - times_s[-1]) < 0.02
    assert found == sorted(found)
