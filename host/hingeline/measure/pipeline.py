"""The order of the stages: reading (counts) → gravity → deflection, or angle from the datum → travel.

The one place that converts. The formulas are in `hingeline_calibration`: `Calibration.gravity_of_counts` and
`hinge.turn_about`, for one reading and for the lines of a track, and `travel.travel_mm`. Frames: DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from hingeline.errors import NotMeasurable
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt, doubt_of_gravity
from hingeline.units import Side
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, HingeAxis, Travel, deflection, refuse_vertical
from hingeline_calibration.motion import without_motion
from hingeline_calibration.travel import travel_slope_mm_per_deg


@dataclass(frozen=True)
class FixedPart:
    """A calibrated sensor on a part that only moves with the model; its motion counts from the reference gravity."""

    sensor_id: str
    calibration: Calibration
    reference: Gravity | None = None

    def gravity(self, readings: Readings) -> Gravity:
        """Gravity in g in the frame of its carrier."""
        return self.calibration.gravity(readings[self.sensor_id])


@dataclass(frozen=True)
class Instrument:
    """A calibrated sensor on one side of a surface, with its hinge in the carrier frame.

    A sensor on a fixed part, where there is one, takes the model's motion out; `heading_deg` is from its edge to the
    hinge, see `without_motion`.
    """

    side: Side
    sensor_id: str
    calibration: Calibration
    hinge: HingeAxis = field(default_factory=HingeAxis)
    fixed: FixedPart | None = None
    heading_deg: float = 0.0

    def gravity(self, readings: Readings) -> Gravity:
        """Gravity in g in the carrier frame, as if the model had not moved since the fixed part's reference."""
        now, fixed = self.calibration.gravity(readings[self.sensor_id]), self.fixed
        if fixed is None or fixed.reference is None:
            return now
        first, fixed_now = fixed.reference, fixed.gravity(readings)
        return without_motion(now, first, fixed_now, fixed.calibration, hinge=self.hinge, heading_deg=self.heading_deg)

    def referenced(self, readings: Readings) -> Instrument:
        """This instrument, with the model's motion counted from these readings unless it is counted already.

        A check calls it with the first reading it takes. What is only shown never does: the model may be moving.
        """
        if self.fixed is None or self.fixed.reference is not None:
            return self
        return replace(self, fixed=replace(self.fixed, reference=self.fixed.gravity(readings)))

    def at_neutral(self, readings: Readings) -> Gravity:
        """Gravity at neutral. Raises `HingeVertical`, and `NotMeasurable` of a sensor that is upside down."""
        now = self.gravity(readings)
        refuse_vertical(self.hinge, now)
        if now.vector_g[2] < 0:
            raise NotMeasurable(
                f"The {self.side} sensor {self.sensor_id} is upside down: its lid faces the ground, it shows "
                f"{now.vector_g[2]:+.2f} g along z, expected more than 0",
                "Tape it on the upper skin with its base to the skin and the lid away from it",
            )
        return now

    def deflection(self, neutral: Gravity, now: Gravity) -> Deflection:
        """Angle about the hinge from neutral, in degrees, trailing edge up positive. Raises `HingeVertical`."""
        return deflection(neutral, now, self.calibration, self.hinge)

    def angle(self, datum: Datum, now: Gravity) -> Deflection:
        """Angle about the hinge from the datum, as `deflection`. Raises `HingeVertical`, `OtherSensor`."""
        return datum.angle(self.sensor_id, now, self.calibration, self.hinge)

    def trouble(self, *several: Readings) -> Doubt | None:
        """Why no valid angle can be computed from readings: gravity is too far from 1 g."""
        calibrations = [self.calibration] + ([self.fixed.calibration] if self.fixed else [])
        doubts = (
            doubt_of_gravity(calibration, readings[calibration.sensor_id])
            for readings in several
            for calibration in calibrations
        )
        return next(filter(None, doubts), None)


def sensors_of(sides: Sequence[Instrument]) -> tuple[str, ...]:
    """Ids of all sensors that the instruments of a surface need, a fixed one last."""
    fixed = {instrument.fixed.sensor_id for instrument in sides if instrument.fixed is not None}
    return (*on_surface(sides), *fixed)


def on_surface(sides: Sequence[Instrument]) -> tuple[str, ...]:
    """Ids of the sensors on the surface itself, without the fixed one: they are where it may creep."""
    return tuple(instrument.sensor_id for instrument in sides)


def travel_of(angle: Deflection, chord_mm: float, convention: str, chord_accuracy_mm: float) -> Travel:
    """Travel in mm at a chord and its uncertainty (95 %), in a convention of `hingeline_calibration.travel`."""
    return angle.travel(chord_mm, convention, chord_accuracy_mm / 2)  # 95 % of a ruler's readings: GUM 6.3.3


def small_travel_mm(angle_deg: float, at_deg: float, chord_mm: float, convention: str) -> float:
    """Travel of a small further angle, such as a tolerance, from a surface at `at_deg`."""
    return angle_deg * travel_slope_mm_per_deg(at_deg, chord_mm, convention)


def take_datum(
    calibrations: Mapping[str, Calibration], laid: Readings, turned: Readings | None = None, *, date: str
) -> Datum:
    """Datum of all sensors on one flat; where each was then turned end for end on its spot, it may be off level.

    Raises `WrongPose` of a sensor that does not lie on its base, or was not turned.
    """
    first, second = (
        {name: calibration.gravity(readings[name]) for name, calibration in calibrations.items()}
        for readings in (laid, turned or laid)
    )
    return Datum.take(first, date) if turned is None else Datum.take_reversed(first, second, date)


def close_datum(
    datum: Datum, calibrations: Mapping[str, Calibration], laid: Readings, turned: Readings | None = None
) -> Datum:
    """The datum with its drift check: the sensors laid on the flat as they were for it. Otherwise as `take_datum`."""
    return datum.close(take_datum(calibrations, laid, turned, date=datum.date).gravity, calibrations)
