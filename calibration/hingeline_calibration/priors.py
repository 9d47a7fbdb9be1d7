"""What is known of table and carrier before any pose is taken."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hingeline_calibration.errors import CalibrationError

_DIN_876_UM = {"0": (4, 250), "I": (10, 100), "II": (20, 50), "III": (40, 25)}
"""Grade: flatness in µm is first + L / second, L the longest side in mm (DIN 876)."""


@dataclass(frozen=True)
class Priors:
    """Standard deviations, in degrees, of each of two perpendicular components."""

    table_tilt_deg: float = 0.25
    """Table off level: what "at most 0.5° off, any direction" comes to."""
    squareness_deg: float = 0.2
    """Each face of the carrier out of square: a printed part."""
    scatter_deg: float = 0.02
    """One laying-down to the next: dust, burrs."""
    flatness_deg: float = 0.017
    """Table from place to place: grade III under a 100 mm carrier, by the function `flatness_deg`."""

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if not 0 < value < 10:
                raise CalibrationError(
                    f"prior {name} of {value:g}, expected more than 0 and less than 10",
                    "Give an honest standard deviation",
                )

    @property
    def laying_rad(self) -> float:
        """Standard deviation of one laying-down on the table."""
        return math.radians(math.hypot(self.scatter_deg, self.flatness_deg))


def flatness_deg(grade: str, longest_side_mm: float, carrier_mm: float) -> float:
    """Standard deviation of a table's slope under a carrier, from its flatness grade by DIN 876, ``0`` to ``III``.

    All of the flatness may lie under the carrier: a rectangular distribution, GUM 4.3.7.

    Raises
    ------
    CalibrationError
        No such grade.
    """
    if grade not in _DIN_876_UM:
        raise CalibrationError(
            f"flatness grade {grade!r}, expected one of {', '.join(_DIN_876_UM)}", "Name one of them"
        )
    offset_um, divisor = _DIN_876_UM[grade]
    return math.degrees((offset_um + longest_side_mm / divisor) / 1000 / carrier_mm / math.sqrt(3))
