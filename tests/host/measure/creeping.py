"""Surfaces that come to rest in their own ways, as lines of noisy chips: truth beside what is read of them.

The physics knows nothing of how a rest is told: where a surface is at any time, and the noise of a chip's datasheet,
as its filter passes it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from hingeline.device.samples import Sample, SensorInfo
from hingeline.measure.capture import Capture

Floats = NDArray[np.float64]
Motion = Callable[[Floats, np.random.Generator], tuple[Floats, bool]]
"""Where a surface is at times (N,) after it was moved, in degrees, and whether that goes to 0 in the end."""

CHIPS = {"mpu6050": (400.0, 16384, 1), "lis3dh": (220.0, 16000, 16), "icm42688": (70.0, 16384, 1)}
"""Noise density in µg/√Hz by the datasheets (InvenSense PS-MPU-6000A; ST LIS3DH; TDK DS-000347), counts, step."""
FILTER_HZ = 44
BEFORE_S, AFTER_S = 6.0, 20.0
MOVED_DEG, NEUTRAL_DEG = 20.0, 10.0


def creeps(slow_s: float) -> Motion:
    """Exponentially to its end, by 0.1 to 1°: a linkage or tape that relaxes."""

    def motion(time_s: Floats, rng: np.random.Generator) -> tuple[Floats, bool]:
        return 10 ** rng.uniform(-1, 0) * rng.choice([-1, 1]) * np.exp(-time_s / slow_s), True

    return motion


def relaxes(time_s: Floats, rng: np.random.Generator) -> tuple[Floats, bool]:
    """Foam: quickly at first, then slowly."""
    return rng.uniform(0.1, 0.5) * np.exp(-time_s / 0.3) + rng.uniform(0.1, 0.5) * np.exp(-time_s / 1.5), True


def drifts(time_s: Floats, rng: np.random.Generator) -> tuple[Floats, bool]:
    """At one speed, without an end: what is true is where it is when it is read."""
    return 10 ** rng.uniform(-2.5, -0.7) * time_s, False


def hunts(time_s: Floats, rng: np.random.Generator) -> tuple[Floats, bool]:
    """About its place: a servo with play in its pot."""
    turns = rng.uniform(1.0, 4.0) * time_s + rng.uniform(0, 1)
    return rng.uniform(0.02, 0.15) * np.sin(2 * np.pi * turns) + 0 * time_s, True


def steps(time_s: Floats, rng: np.random.Generator) -> tuple[Floats, bool]:
    """Rests, and goes a little further: an end point turned by a click."""
    return np.where(time_s < rng.uniform(0.2, 2.0), rng.uniform(0.1, 1.0), 0.0), False


def rests(time_s: Floats, rng: np.random.Generator) -> tuple[Floats, bool]:
    """Still from the first moment."""
    return 0 * time_s, True


MOTIONS: dict[str, Motion] = {
    "still": rests,
    "creeps, 0.5 s": creeps(0.5),
    "creeps, 1 s": creeps(1.0),
    "creeps, 2 s": creeps(2.0),
    "foam, 0.3 and 1.5 s": relaxes,
    "drifts": drifts,
    "hunts": hunts,
    "a step, then still": steps,
}


@dataclass(frozen=True)
class FirstReading:
    """What was read of a surface, in degrees: how far off the truth, the stated 95 %, and after how long."""

    off_deg: float
    within_deg: float
    after_s: float

    @property
    def is_held(self) -> bool:
        """Whether the stated interval holds the truth."""
        return abs(self.off_deg) <= self.within_deg


def first_reading(motion: Motion, chip: str, hz: float, seed: int, *, settles: bool) -> FirstReading | None:
    """The first reading after a surface was moved by 20°; None where there is none."""
    rng = np.random.default_rng([seed, round(hz), *chip.encode()])
    density_ug, counts_per_g, step = CHIPS[chip]
    time_s = np.arange(round((BEFORE_S + AFTER_S) * hz)) / hz
    since_s = time_s - BEFORE_S
    way_deg, has_end = motion(np.maximum(since_s, 0.0), rng)
    angle = np.radians(NEUTRAL_DEG + np.where(since_s < 0, -MOVED_DEG, way_deg))
    up_g = np.stack([np.zeros_like(angle), np.sin(angle), np.cos(angle)], axis=1)
    passed = np.exp(-2 * np.pi * FILTER_HZ / hz)
    white_g = density_ug * 1e-6 * np.sqrt(hz / 2) * rng.standard_normal((time_s.size + 50, 3))
    noise_g = lfilter([1 - passed], [1, -passed], white_g, axis=0)[50:]
    counts = step * np.round((up_g + noise_g) * counts_per_g / step)
    info = SensorInfo("s", "pico", "port", chip, 0, 0x68, counts_per_g, hz, FILTER_HZ, "absolute", "ok")
    capture = Capture({"s": info})
    capture.expect(settles="s" * settles)
    for index, (now_s, line) in enumerate(zip(time_s, counts, strict=True)):
        readings = capture.push(Sample("s", float(now_s), tuple(line), 4, 24.0, index % 65536))
        if readings is None:
            continue
        if now_s < BEFORE_S:
            capture.expect(settles="s" * settles)
            continue
        _, y, z = readings["s"].mean_counts
        slope = np.array([0.0, z, -y]) / (y * y + z * z)
        variance = slope @ readings["s"].end_counts2 @ slope
        true_deg = NEUTRAL_DEG + (0.0 if has_end else way_deg[index])
        within_deg = 1.96 * np.degrees(np.sqrt(variance))
        return FirstReading(float(np.degrees(np.arctan2(y, z)) - true_deg), float(within_deg), float(since_s[index]))
    return None
