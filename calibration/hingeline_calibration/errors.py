"""Why there is no calibration, datum or deflection: one tree.

::

    CalibrationError
    ├── UnusableReading: SaturatedAxis, StuckAxis, WrongCountsPerG
    ├── WrongPose: WrongFace, RepeatedPose, MovedPose
    ├── BadRecord: NewerRecord
    └── MissingDirections, PoorCalibration, OtherSensor, MissingTemperature, HingeVertical
"""

from __future__ import annotations


class CalibrationError(Exception):
    """What was seen and what was expected, then as an instruction what to do next; both without a full stop."""

    def __init__(self, message: str, cure: str, *details: object) -> None:
        super().__init__(message, cure, *details)
        self.message = message
        self.cure = cure

    def __str__(self) -> str:
        return f"{self.message}. {self.cure}."


class UnusableReading(CalibrationError):
    """A still stretch that no number can be made of."""


class SaturatedAxis(UnusableReading):
    """Readings at the end of the chip's range."""


class StuckAxis(UnusableReading):
    """An axis whose readings never change."""


class WrongCountsPerG(UnusableReading):
    """|gravity| is far from 1 g at the counts per g that its board announced."""


class WrongPose(CalibrationError):
    """A pose other than the one that was named."""


class WrongFace(WrongPose):
    """Another face is up than the one named."""


class RepeatedPose(WrongPose):
    """A face and yaw that are done already, or a sensor that was not moved in between."""


class MovedPose(WrongPose):
    """The pose `index`, counted from 0, disagrees with the others by more than its uncertainty."""

    def __init__(self, message: str, cure: str, index: int) -> None:
        super().__init__(message, cure, index)
        self.index = index


class MissingDirections(CalibrationError):
    """The poses leave `directions` of the calibration undetermined, such as ``"shear xy"``."""

    def __init__(self, message: str, cure: str, directions: tuple[str, ...]) -> None:
        super().__init__(message, cure, directions)
        self.directions = directions


class PoorCalibration(CalibrationError):
    """Fitted, and not acceptable, for `reasons` that are sentence parts; it may be kept marked as poor."""

    def __init__(self, message: str, cure: str, reasons: tuple[str, ...]) -> None:
        super().__init__(message, cure, reasons)
        self.reasons = reasons


class BadRecord(CalibrationError):
    """A stored calibration or datum that can't be read."""


class NewerRecord(BadRecord):
    """Written in a later format than this version reads."""


class OtherSensor(CalibrationError):
    """A calibration or datum that does not hold this sensor."""


class MissingTemperature(CalibrationError):
    """A temperature is needed and the chip gave none."""


class HingeVertical(CalibrationError):
    """Gravity says nothing of a turn about a vertical axis."""
