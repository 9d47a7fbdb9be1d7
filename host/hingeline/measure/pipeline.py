"""The order of the stages: rests (counts) → gravity → deflection, or angle from the datum → travel.

Frames and signs: DEVELOPERS.md.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from hingeline.errors import NotMeasurable
from hingeline.measure.capture import Readings
from hingeline.rig.kinds import Side
from hingeline_calibration.acceptance import off_length_mg
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.drift import cautions, dated_ahead
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, HingeAxis, deflection, refuse_vertical
from hingeline_calibration.motion import without_motion
from hingeline_calibration.still import Reading

BROKEN_G = 0.1
"""Ten times what a chip drifts over its years: with gravity so far off, it is broken. Common practice, no source."""


@dataclass(frozen=True)
class FixedPart:
    """A calibrated sensor on a part that nothing moves but the model itself.

    Attributes
    ----------
    sensor_id, calibration
        Which it is, and what it is worth.
    reference
        Its gravity at the first reading, which the model's motion is counted from; None before there is one.
    """

    sensor_id: str
    calibration: Calibration
    reference: Gravity | None = None

    def gravity(self, rests: Readings) -> Gravity:
        """Gravity in g in the frame of its carrier at a reading."""
        return self.calibration.gravity(rests[self.sensor_id])

    def without_motion(self, now: Gravity, rests: Readings, hinge: HingeAxis, heading_deg: float) -> Gravity:
        """A surface's gravity as it would be, had the model not moved since the reference; as it is without one."""
        if self.reference is None:
            return now
        fixed = self.gravity(rests)
        return without_motion(
            now, self.reference, fixed, self.calibration, hinge=hinge, heading_deg=heading_deg
        )


@dataclass(frozen=True)
class Instrument:
    """A calibrated sensor on one side of a surface.

    Attributes
    ----------
    side, sensor_id, calibration
        Where it sits, which it is, and what it is worth.
    hinge
        In the carrier frame; its edge where it was not found by `hingeline hinge`.
    fixed
        The sensor that takes the model's motion out, where there is one.
    heading_deg
        From the fixed sensor's edge to the hinge, see `without_motion`.
    """

    side: Side
    sensor_id: str
    calibration: Calibration
    hinge: HingeAxis = field(default_factory=HingeAxis)
    fixed: FixedPart | None = None
    heading_deg: float = 0.0

    def gravity(self, rests: Readings) -> Gravity:
        """Return the gravity of a rest, the model's motion taken out where a fixed sensor sees it."""
        now = self.calibration.gravity(rests[self.sensor_id])
        if self.fixed is None:
            return now
        return self.fixed.without_motion(now, rests, self.hinge, self.heading_deg)

    def referenced(self, rests: Readings) -> Instrument:
        """This instrument, with the model's motion counted from these readings unless it is counted already.

        A check calls it with the first reading it takes. What is only shown never does: the model may be moving.
        """
        if self.fixed is None or self.fixed.reference is not None:
            return self
        return replace(self, fixed=replace(self.fixed, reference=self.fixed.gravity(rests)))

    def at_neutral(self, rests: Readings) -> Gravity:
        """Return the gravity of a rest at neutral.

        Raises
        ------
        HingeVertical
            Gravity says nothing about this hinge.
        NotMeasurable
            The sensor is upside down.
        """
        now = self.gravity(rests)
        refuse_vertical(self.hinge, now)
        if now.vector_g[2] < 0:
            raise NotMeasurable(
                f"The {self.side} sensor {self.sensor_id} is upside down: its lid faces the ground, it shows "
                f"{now.vector_g[2]:+.2f} g along z, expected more than 0",
                "Tape it on the upper skin with its base to the skin and the lid away from it",
            )
        return now

    def deflection(self, neutral: Gravity, now: Gravity) -> Deflection:
        """Return the deflection from neutral. Raises `HingeVertical`."""
        return deflection(neutral, now, self.calibration, self.hinge)

    def trouble(self, tolerance_deg: float, *rests: Readings) -> str:
        """Return why an angle from these rests is none: gravity is not 1 g, by what makes as much as the tolerance."""
        for each, (name, calibration) in product(rests, self._calibrations()):
            off_mg, limit_mg = off_length_mg(calibration, each[name])
            off_deg = math.degrees(abs(off_mg) / 1000)
            if abs(off_mg) > limit_mg and off_deg > tolerance_deg:
                return (
                    f"sensor {name} shows {1 + off_mg / 1000:.3f} g at rest, not 1 g: the angle may be {off_deg:.1f}° "
                    "wrong and more, calibrate it again"
                )
        return ""

    def _calibrations(self) -> Iterator[tuple[str, Calibration]]:
        """Yield each sensor that its angles come from, by id, with its calibration."""
        yield self.sensor_id, self.calibration
        if self.fixed is not None:
            yield self.fixed.sensor_id, self.fixed.calibration

    def angle(self, datum: Datum, now: Gravity) -> Deflection:
        """Return the angle about the hinge from the datum. Raises `HingeVertical`, `OtherSensor`."""
        return datum.angle(self.sensor_id, now, self.calibration, self.hinge)


def sensors_of(sides: Sequence[Instrument]) -> tuple[str, ...]:
    """Return the ids of all sensors that the instruments of a surface need, a fixed one last."""
    fixed = {one.fixed.sensor_id for one in sides if one.fixed is not None}
    return (*(one.sensor_id for one in sides), *fixed)


def poor_cautions(calibration: Calibration) -> tuple[str, ...]:
    """Return what is to be said at each use of a calibration that was kept although it is poor."""
    if not calibration.poor:
        return ()
    return (f"the calibration of sensor {calibration.sensor_id} is poor: {'; '.join(calibration.poor)}",)


def date_cautions(calibration: Calibration, now: str) -> tuple[str, ...]:
    """Return what is to be said of a calibration that is dated after the time `now`, ISO 8601."""
    return dated_ahead(f"calibration of sensor {calibration.sensor_id}", calibration.date, now)


def temperature_cautions(calibration: Calibration, temperature_c: float | None) -> tuple[str, ...]:
    """Return what is to be said of a sensor that is not at the temperature of its calibration."""
    return cautions(calibration, temperature_c)


def gravity_cautions(calibration: Calibration, reading: Reading) -> tuple[str, ...]:
    """Return what is to be said of a sensor whose gravity at rest is not 1 g.

    Raises
    ------
    NotMeasurable
        It is so far from it that no angle can be had.
    """
    off_mg, limit_mg = off_length_mg(calibration, reading)
    seen = f"ensor {calibration.sensor_id} at rest shows {1 + off_mg / 1000:.3f} g"
    if abs(off_mg) > 1e3 * BROKEN_G:
        raise NotMeasurable(
            f"S{seen}, expected 1 g within {BROKEN_G:g} g: an axis is stuck or at the end of its range",
            "Check its supply and its solder joints, then calibrate it again; if it stays so, change the module",
        )
    if abs(off_mg) <= limit_mg:
        return ()
    return (
        f"s{seen}, expected 1 g within {limit_mg / 1000:.3f} g: it is not as it was calibrated, and its angles may be "
        f"off by {math.degrees(abs(off_mg) / 1000):.1f}° and more; calibrate it again",
    )


def datum_cautions(datum: Datum, calibrations: Iterable[Calibration], now: str) -> tuple[str, ...]:
    """Return what is to be said of a datum used at the time `now`, ISO 8601: that it is old, or older than a sensor.

    A datum is made of gravities, and these of a calibration: a later calibration of the same sensor upsets it.
    """
    found = list(calibrations)
    later = [one.sensor_id for one in found if one.sensor_id in datum.gravity and one.date > datum.date]
    said = [text for one in found[:1] for text in cautions(one, None, datum, now)]
    if later:
        said.append(f"the datum is older than the calibration of sensor {', '.join(later)}: take it again")
    return tuple(said)


def take_datum(
    calibrations: Mapping[str, Calibration], rests: Readings, turned: Readings | None = None, *, date: str
) -> Datum:
    """Return the datum of all sensors on one flat.

    Parameters
    ----------
    rests, turned
        As they were laid, and each turned end for end on its spot: with it the flat may be off level.
    date
        When, ISO 8601.

    Raises
    ------
    WrongPose
        A sensor does not lie on its base, or was not turned.
    """

    def gravity(laid: Readings) -> dict[str, Gravity]:
        return {name: calibration.gravity(laid[name]) for name, calibration in calibrations.items()}

    if turned is None:
        return Datum.take(gravity(rests), date)
    return Datum.take_reversed(gravity(rests), gravity(turned), date)


def close_datum(
    datum: Datum, calibrations: Mapping[str, Calibration], rests: Readings, turned: Readings | None = None
) -> Datum:
    """Return the datum with its misclosure, the sensors laid on the flat as they were for it.

    Parameters and errors as `take_datum`.
    """
    return datum.close(take_datum(calibrations, rests, turned, date=datum.date).gravity, calibrations)
