"""What a surface that still creeps toward its end may have left to go.

The model: what has come to rest but for its settling approaches its end exponentially, e = A exp(-t/τ). The mean of e
over any stretch is then -τ times the mean of its slope, whatever A: so the way from the mean of a stretch to the end is
bounded by the slope and the slowest settling expected, `SLOWEST_S`. A drift that has no end is covered too, from the
mean of the stretch to where it is at its end, while the stretch is shorter than twice that.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array
from hingeline_calibration.noise import covariance_of_mean

SLOWEST_S = 2.0
"""The longest time constant of linkages, foam and tape on the bench: common practice, no source."""


def covariance_of_way(times_s: ArrayLike, values: ArrayLike, step: float = 0.0) -> Array:
    """Covariance (M, M) of the way from the mean of `values` (N, M) at times (N,) to where they come to rest.

    Notes
    -----
    It is τ² (b b' + V): b the slope over the stretch of length T, V = 12 C/T² its covariance (a straight line through
    evenly spaced values), C that of the mean, of the noise about the line. A slope that noise hides counts by V, one
    that shows by b.
    """
    times, series = np.asarray(times_s, float), np.asarray(values, float)
    off_s = times - times.mean()
    slope = off_s @ series / (off_s @ off_s)
    noise = covariance_of_mean(series - np.outer(off_s, slope), step)
    return np.asarray(SLOWEST_S**2 * (np.outer(slope, slope) + noise / np.mean(off_s**2)))
