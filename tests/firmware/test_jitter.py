"""Jitter as RFC 3550 defines it."""

import random

import pytest

from hingeline_firmware.jitter import Jitter


def reference(behind_us):
    """RFC 3550, section 6.4.1, in real numbers: J(i) = J(i-1) + (|D(i-1,i)| - J(i-1))/16."""
    jitter, former = 0.0, 0
    for one in behind_us:
        jitter += (abs(one - former) - jitter) / 16
        former = one
    return jitter


@pytest.mark.parametrize("spread_us", [10, 1000, 50000])
def test_it_is_that_of_the_rfc(spread_us):
    draw = random.Random(spread_us)
    behind_us = [draw.randrange(spread_us) for _ in range(500)]
    jitter = Jitter()
    for one in behind_us:
        jitter.note(one)
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
