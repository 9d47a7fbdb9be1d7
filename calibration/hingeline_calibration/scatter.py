"""To what a chip repeats a reading, beside its noise: from how far |gravity| of its poses is off."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.observability import norm_rows
from hingeline_calibration.records import number_of, number_or_none, table_of

FLOOR_MG = 0.1
"""To what readings of a good sensor repeat, by 38 poses of one (tests/data/recordings); no chip is taken for better."""


@dataclass(frozen=True)
class Repeat:
    """Standard deviation of an axis from reading to reading, beside noise.

    It has as many degrees of freedom as poses tell of it; None where it is the floor.
    """

    deviation_mg: float = FLOOR_MG
    freedom: float | None = None

    @property
    def variance_g2(self) -> float:
        """Of an axis, in g²."""
        return (1e-3 * self.deviation_mg) ** 2

    @classmethod
    def read(cls, value: object) -> Repeat:
        """What was kept of it. Raises as the functions of `records`."""
        fields = table_of(value, lambda field: field)
        return cls(number_of(fields["deviation_mg"], 0.0), number_or_none(fields["freedom"]))


def repeat_of(ups: Array, off_mg: Array, noise_mg: float, askew_rad: float) -> Repeat:
    """To what a chip repeats a reading, at least to the floor, of poses whose means have a noise.

    `off_mg` (K,) is |gravity| - 1 g at the unit up vectors (K, 3) of the poses. `askew_rad` is what the fit knew of a
    misalignment before.

    Notes
    -----
    What scale, misalignment and offset can make of |gravity| beyond noise is taken away: so it does not matter how well
    they were fitted. Faces show a misalignment by their own tilt alone, of half a degree: noise hides it. Then comes
    the variance at which the squares are as many times the whole as they have degrees of freedom: Paule & Mandel,
    J. Res. NBS 87, 377 (1982), in the closed form of equal weights (DerSimonian & Laird, 1986; memory). It is as
    uncertain as its freedom says (type A, GUM 4.2); the floor is taken for known.
    """
    directions, values, _ = np.linalg.svd(norm_rows(ups), full_matrices=False)
    determined = directions[:, 1e3 * askew_rad * values > math.hypot(noise_mg, FLOOR_MG)]
    rest = off_mg - determined @ (determined.T @ off_mg)
    freedom = rest.size - determined.shape[1]
    variance = float(rest @ rest) / freedom - noise_mg**2 if freedom else 0.0
    if variance <= FLOOR_MG**2:
        return Repeat()
    return Repeat(math.sqrt(variance), float(freedom))
