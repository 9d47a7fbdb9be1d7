"""A surface that moves slowly, line by line: each line gives one gravity.

An accelerated sensor shows another length than that of gravity, and its direction is not up. Turning slowly hardly
accelerates: 20°/s at 15 mm from the hinge is 0.2 mg. Turning fast pulls toward the hinge, across gravity, where the
length hardly changes: so a line is judged by its speed too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from hingeline.device.samples import Sample
from hingeline.measure.pipeline import Instrument
from hingeline_calibration.arrays import mean_of_known
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import turn_about
from hingeline_calibration.still import Reading

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

GATE_G = 0.006
"""A line this much longer or shorter than at rest, beyond noise, is not steady: along the motion that is 0.3°."""
_GATE_NOISES = 4.0
FAST_DEG_S = 40.0
"""Faster than this a line is not steady: at 40 mm from the hinge, the pull toward it is 2 mg or 0.1°."""
_NEAR_S = 0.1
"""Nor is a line this near to an unsteady one: acceleration changes its sign."""


Tracks = Mapping[str, tuple[Sample, ...]]
"""By sensor id, its samples in their order."""


@dataclass(frozen=True, eq=False)
class Track:
    """The lines of one instrument: board times (N,) and up in the carrier frame (N, 3), with its gravity at neutral.

    The covariance (3, 3) is that of the noise of one line, the temperature the mean of all lines.
    """

    instrument: Instrument
    neutral: Gravity
    time_s: Floats
    gravity_g: Floats
    line_covariance_g2: Floats
    temperature_c: float | None

    @cached_property
    def deflection_deg(self) -> Floats:
        """(N,) deflection from neutral of each line, trailing edge up positive."""
        return np.degrees(turn_about(self.instrument.hinge.direction, self.neutral.vector_g, self.gravity_g))

    @cached_property
    def steady(self) -> Mask:
        """(N,) whether a line, and those about it, have the length of gravity at rest and turn slowly."""
        noise_g = float(np.sqrt(np.trace(self.line_covariance_g2) / 3))
        excess_g = np.abs(np.linalg.norm(self.gravity_g, axis=1) - np.linalg.norm(self.neutral.vector_g))
        slope_deg_s = np.gradient(smoothed(self.deflection_deg, self.time_s, _NEAR_S), self.time_s)
        fast = np.abs(smoothed(slope_deg_s, self.time_s, _NEAR_S)) > FAST_DEG_S
        off = fast | (excess_g > GATE_G + _GATE_NOISES * noise_g)
        steady: Mask = smoothed(off.astype(float), self.time_s, 2 * _NEAR_S) == 0
        return steady

    def gravity(self, chosen: Mask) -> Gravity:
        """The mean of chosen lines (N,), at least one."""
        times = self.time_s[chosen]
        return Gravity(
            vector_g=self.gravity_g[chosen].mean(axis=0),
            covariance_g2=self.line_covariance_g2 / times.size,
            temperature_c=self.temperature_c,
            time_s=float(times[0]),
            duration_s=float(times[-1] - times[0]),
        )


def track(instrument: Instrument, neutral: Reading, samples: tuple[Sample, ...]) -> Track:
    """The track of at least two lines, with the noise and the gravity of the reading at neutral."""
    time_s = np.array([sample.time_s for sample in samples])
    counts = np.array([sample.counts for sample in samples])
    return track_of(instrument, neutral, time_s, counts, mean_of_known(sample.temperature_c for sample in samples))


def track_of(
    instrument: Instrument, neutral: Reading, time_s: Floats, counts: Floats, temperature_c: float | None
) -> Track:
    """The same of lines given as board times (N,), counts (N, 3) and their mean temperature."""
    calibration = instrument.calibration
    at_rest = calibration.gravity(neutral)
    return Track(
        instrument=instrument,
        neutral=at_rest,
        time_s=time_s,
        gravity_g=calibration.gravity_of_counts(counts, temperature_c),
        line_covariance_g2=calibration.gravity(replace(neutral, way_counts2=None)).covariance_g2 * neutral.lines,
        temperature_c=temperature_c,
    )


def smoothed(values: Floats, time_s: Floats, over_s: float) -> Floats:
    """The running mean (N,) of values (N,), at least two, over about `over_s`."""
    interval_s = float(time_s[-1] - time_s[0]) / (values.size - 1)
    window = np.ones(min(values.size, 2 * round(over_s / interval_s / 2) + 1))
    mean: Floats = np.convolve(values, window, "same") / np.convolve(np.ones(values.size), window, "same")
    return mean
