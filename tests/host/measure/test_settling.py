"""A surface that has not settled: the stated 95 % holds where it comes to rest, or there is no reading yet.

What is true comes of `creeping.py`, whose physics knows nothing of how a rest is told.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.host.measure.creeping import CHIPS, MOTIONS, first_reading

LEAST = 0.92
STILL_S = {"mpu6050": 3.1, "lis3dh": 2.3, "icm42688": 1.4}
"""A reading on a surface that is still comes as soon by median: "holds of many seconds are a fault"; no source."""


def held(name: str, chip: str, hz: float, seeds: int) -> tuple[float, list[float]]:
    """The share of stated intervals that hold, and after how long each was read."""
    taken = [first_reading(MOTIONS[name], chip, hz, seed, settles=True) for seed in range(seeds)]
    known = [each for each in taken if each is not None]
    assert known or name in ("drifts", "hunts")
    return float(np.mean([each.is_held for each in known] or [1.0])), [each.after_s for each in known]


@pytest.mark.parametrize("chip", CHIPS)
@pytest.mark.parametrize("name", MOTIONS)
def test_the_stated_interval_holds_where_a_surface_comes_to_rest(name: str, chip: str) -> None:
    """Of 40 seeds at 50 lines a second; a count of 40 at 0.95 is below 0.85 once in 100."""
    share, _ = held(name, chip, 50, 40)
    assert share >= 0.85


@pytest.mark.long
@pytest.mark.parametrize("hz", [25, 50, 100, 200])
@pytest.mark.parametrize("chip", CHIPS)
@pytest.mark.parametrize("name", MOTIONS)
def test_it_holds_in_every_cell(name: str, chip: str, hz: float) -> None:
    share, _ = held(name, chip, hz, 200)
    assert share >= LEAST


@pytest.mark.parametrize("chip", CHIPS)
def test_a_surface_that_is_still_is_read_soon(chip: str) -> None:
    _, after_s = held("still", chip, 50, 40)
    assert np.median(after_s) <= STILL_S[chip]


@pytest.mark.parametrize("chip", CHIPS)
def test_without_the_share_a_creeping_surface_was_outside_its_interval(chip: str) -> None:
    """The physics is such that the share is needed: as recordings of former versions are read."""
    taken = [first_reading(MOTIONS["creeps, 2 s"], chip, 50, seed, settles=False) for seed in range(20)]
    assert np.mean([each.is_held for each in taken if each is not None]) < 0.5
