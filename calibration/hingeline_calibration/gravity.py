"""Gravity in the carrier frame: what a calibrated sensor at rest shows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from hingeline_calibration.arrays import Array, mean_of_known
from hingeline_calibration.records import NOT_KEPT, array_of, number_of, number_or_none, plain, table_of


@dataclass(frozen=True, eq=False)
class Gravity:
    """The up vector of one reading (DEVELOPERS.md, frames and signs).

    Attributes
    ----------
    vector_g : (3,)
        Carrier frame, in g; its length is 1 up to noise and the calibration's error.
    covariance_g2 : (3, 3)
        Covariance from the noise of the reading alone.
    temperature_c
        Chip temperature of the reading; None without a thermometer.
    time_s, duration_s
        Start and length of the reading, board time.
    by_axis : (2, 3)
        Where the model's motion was taken out about a hinge: how far that moves for each of its `HingeAxis.errors`.
    """

    vector_g: Array
    covariance_g2: Array
    temperature_c: float | None
    time_s: float
    duration_s: float
    by_axis: Array | None = field(default=None, metadata=NOT_KEPT)

    def shifted(self, first: Array, second: Array) -> Array:
        """(..., 3) the vector as it is with the hinge off by so many of each of its errors (...)."""
        if self.by_axis is None:
            return self.vector_g
        return np.asarray(self.vector_g + first[..., None] * self.by_axis[0] + second[..., None] * self.by_axis[1])

    def to_dict(self) -> dict[str, object]:
        """Plain JSON-able values."""
        return dict(plain(self))

    @classmethod
    def from_dict(cls, record: object) -> Gravity:
        """The gravity that `to_dict` wrote. Raises `KeyError` or `ValueError` for anything else."""
        fields = table_of(record, lambda field: field)
        vector_g = array_of(fields["vector_g"], 3)
        if not 0.5 < np.linalg.norm(vector_g) < 2.0:
            raise ValueError(f"{vector_g} g, expected about 1 g")
        return cls(
            vector_g,
            array_of(fields["covariance_g2"], 3, 3),
            number_or_none(fields["temperature_c"]),
            number_of(fields["time_s"]),
            number_of(fields["duration_s"], 0.0),
        )


def mean_gravity(several: Iterable[Gravity]) -> Gravity:
    """The mean of at least one gravity of one sensor in one position, their noise independent."""
    gravities = tuple(several)
    by_axis = [gravity.by_axis for gravity in gravities if gravity.by_axis is not None]
    return Gravity(
        vector_g=np.mean([gravity.vector_g for gravity in gravities], axis=0),
        covariance_g2=np.sum([gravity.covariance_g2 for gravity in gravities], axis=0) / len(gravities) ** 2,
        temperature_c=mean_of_known(gravity.temperature_c for gravity in gravities),
        time_s=gravities[0].time_s,
        duration_s=sum(gravity.duration_s for gravity in gravities),
        by_axis=np.sum(by_axis, axis=0) / len(gravities) if by_axis else None,
    )
