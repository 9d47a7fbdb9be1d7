"""Stillness on a real recording: an MPU-9150, turned by hand and set down 22 times (tests/data/recordings)."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from hingeline_calibration.arrays import Array
from hingeline_calibration.chips import noise_ceiling_g
from hingeline_calibration.still import Reading, StillWatch

RECORDING = Path(__file__).parents[1] / "data" / "recordings" / "mpu9150.log"
LINES_HZ, COUNTS_PER_G, FILTER_HZ = 100.0, 16384, 94.0
"""The filter is not told; this is the chip's widest below the rate of lines."""
TURNING_RAD_S, QUIET_RAD_S = 0.3, 0.05
"""By the gyroscope: surely turned; and at rest, where its own noise is 0.02 over 0.2 s."""
SETTLED_S = 1.5


@pytest.fixture(scope="module")
def turning() -> Array:
    """(N,) rate at which gravity turns in the sensor, rad/s, over 0.2 s, by the gyroscope, its offset taken away.

    A turn about the plumb line is none to an accelerometer.
    """
    lines = np.loadtxt(RECORDING)
    ups = lines[:, :3] / np.linalg.norm(lines[:, :3], axis=1, keepdims=True)
    rates = np.cross(lines[:, 3:] - np.median(lines[:, 3:], axis=0), ups)
    return np.convolve(np.linalg.norm(rates, axis=1), np.ones(20) / 20, "same")


@pytest.fixture(scope="module")
def readings() -> list[tuple[int, Reading]]:
    """Each tenth of a second with a reading: the number of lines so far, and the reading."""
    lines_g = np.loadtxt(RECORDING)[:, :3] / 9.80665
    watch = StillWatch(COUNTS_PER_G, ceiling_g=noise_ceiling_g("mpu6050", FILTER_HZ))
    known = []
    for number, line in enumerate(lines_g * COUNTS_PER_G):
        watch.push(number / LINES_HZ, tuple(line), None)
        reading = watch.reading() if number % 10 == 0 else None
        if reading is not None:
            known.append((number + 1, reading))
    return known


def test_each_rest_is_one_reading(readings: list[tuple[int, Reading]], turning: Array) -> None:
    """The gyroscope shows 22 rests of 1.5 s or more: each is found, in one piece."""
    edges = np.flatnonzero(np.diff(np.pad((turning < QUIET_RAD_S).astype(int), 1)))
    rests = [(first, last) for first, last in edges.reshape(-1, 2) if last - first > 150]
    assert len(rests) == 22
    starts = [reading.start_s for _, reading in readings]
    for first, last in rests:
        inside = {start for (number, _), start in zip(readings, starts, strict=True) if first + 120 < number < last}
        assert len(inside) == 1, f"rest of {first / LINES_HZ:.1f} to {last / LINES_HZ:.1f} s"


def test_no_reading_is_taken_while_it_is_turned(readings: list[tuple[int, Reading]], turning: Array) -> None:
    """None of the first readings after `SETTLED_S`, which are those that are taken."""
    taken = {}
    for number, reading in readings:
        if reading.duration_s >= SETTLED_S - 0.1:
            taken.setdefault(reading.start_s, (number, reading))
    assert len(taken) >= 20
    for number, reading in taken.values():
        first = number - reading.lines - 20
        assert turning[first + 20 : number].max() < TURNING_RAD_S, f"at {number / LINES_HZ:.1f} s"
