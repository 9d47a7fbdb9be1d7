"""The temperature coefficient of a bias: measured, or what the chip's datasheet says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.chips import chip_facts
from hingeline_calibration.records import array_of, plain, table_of


@dataclass(frozen=True, eq=False)
class Tempco:
    """Change of the bias with the chip's temperature.

    Attributes
    ----------
    counts_per_c : (3,)
        Coefficient, and `deviation_counts_per_c` (3,) its standard deviation.
    measured
        Whether it was fitted; else it is zero within the datasheet's limits.
    """

    counts_per_c: Array
    deviation_counts_per_c: Array
    measured: bool

    @classmethod
    def of_chip(cls, chip: str) -> Tempco:
        """What the datasheet says: zero within its limits, a rectangular distribution (GUM 4.3.7)."""
        facts = chip_facts(chip)
        limits = np.array(facts.tempco_mg_per_c) * 1e-3 * facts.counts_per_g
        return cls(np.zeros(3), limits / np.sqrt(3), False)

    def to_dict(self) -> dict[str, object]:
        """Plain JSON-able values."""
        return dict(plain(self))

    @classmethod
    def read(cls, value: object) -> Tempco:
        """The coefficient that `to_dict` wrote. Raises as the functions of `records`."""
        fields = table_of(value, lambda field: field)
        deviation = array_of(fields["deviation_counts_per_c"], 3)
        return cls(array_of(fields["counts_per_c"], 3), deviation, fields["measured"] is True)
