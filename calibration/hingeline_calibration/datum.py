"""The datum: all carriers on one flat, edges parallel; the zero that neutrals are compared from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from hingeline_calibration.arrays import angle_between_deg
from hingeline_calibration.budget import Budget
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import OtherSensor, WrongPose
from hingeline_calibration.gravity import Gravity, mean_gravity
from hingeline_calibration.hinge import Deflection, HingeAxis, angle_from, difference
from hingeline_calibration.priors import Priors
from hingeline_calibration.records import date_of, number_of, number_or_none, plain, read_record, table_of

FORMAT = 1
"""Version of `Datum.to_dict`."""
_KIND = "datum"
LEVEL = "table level"
"""The source that all sensors of a datum share: it cancels between left and right."""
CLOSURE = "datum closure"
"""The source that the last drift check shows."""
PARALLEL_DEG = 1.0
"""Standard deviation of how parallel edges are laid by eye; common practice, no source."""
CLOSURE_DEG = 0.05
"""Less than this does not count as drift, however well the sensors were laid; common practice, no source."""
ACTION_SIGMAS = 3.0
"""Action limits of a control chart, in standard deviations; ISO 7870-2."""
_STEEPEST_DEG = 15.0
"""A carrier further off level does not lie on its base."""


@dataclass(frozen=True, eq=False)
class Datum:
    """Gravity of every sensor, by id, on one flat.

    Attributes
    ----------
    gravity
        After a reversal, the mean of both layings: the normal of the carrier's base, free of the table's tilt.
    level_sd_deg, laying_sd_deg
        Standard deviations: of the flat against level, shared by all sensors; of one sensor's laying-down.
    table_tilt_deg
        Known after a reversal.
    date
        ISO 8601.
    drift_deg
        How far a sensor's angle had drifted when it was laid on the flat again.
    """

    gravity: Mapping[str, Gravity]
    level_sd_deg: float
    laying_sd_deg: float
    table_tilt_deg: float | None
    date: str
    drift_deg: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def take(cls, gravity: Mapping[str, Gravity], date: str, priors: Priors | None = None) -> Datum:
        """Datum from all sensors laid once, edges parallel. Raises `WrongPose` where one is not on its base."""
        _refuse_off_base(gravity)
        known = priors or Priors()
        laying_deg = _laying_deg(known, known.table_tilt_deg)
        return cls(dict(gravity), known.table_tilt_deg, laying_deg, None, date)

    @classmethod
    def take_reversed(
        cls,
        first: Mapping[str, Gravity],
        turned: Mapping[str, Gravity],
        date: str,
        priors: Priors | None = None,
    ) -> Datum:
        """Datum from all sensors laid, then each turned end for end (180°) on its spot.

        Raises
        ------
        OtherSensor
            The two layings are not of the same sensors.
        WrongPose
            A sensor does not lie on its base, or was not turned on its spot as the others were.

        Notes
        -----
        Reversal, the classical level test: sensor = mean, table = half the difference.
        """
        if set(first) != set(turned):
            raise OtherSensor(
                f"first laid: {', '.join(sorted(first))}; turned: {', '.join(sorted(turned))}; expected the same",
                "Lay and turn all sensors",
            )
        for laid in (first, turned):
            _refuse_off_base(laid)
        tilts_deg = {name: angle_between_deg(first[name].vector_g, turned[name].vector_g) / 2 for name in first}
        tilt_deg = float(np.median(list(tilts_deg.values())))
        laying_deg = _laying_deg(priors or Priors(), tilt_deg) / math.sqrt(2)
        _refuse_unturned(tilts_deg, tilt_deg, laying_deg)
        means = {name: mean_gravity((first[name], turned[name])) for name in first}
        return cls(means, 0.0, laying_deg, tilt_deg, date)

    def angle(
        self, sensor_id: str, now: Gravity, calibration: Calibration, hinge: HingeAxis | None = None
    ) -> Deflection:
        """Angle of a sensor about its hinge from the datum, trailing edge up positive. Raises `HingeVertical`, too.

        Raises
        ------
        OtherSensor
            The datum does not hold this sensor, or the calibration is another sensor's.
        """
        if sensor_id not in self.gravity or calibration.sensor_id != sensor_id:
            raise OtherSensor(
                f"sensor {sensor_id} with the calibration of {calibration.sensor_id} and a datum of "
                f"{', '.join(sorted(self.gravity))}, expected one sensor in all three",
                "Take the datum with all sensors in use",
            )
        turned = angle_from(self.gravity[sensor_id], now, calibration, hinge)
        closure_deg = abs(self.drift_deg.get(sensor_id, 0.0)) / math.sqrt(3)
        extra = [("datum", self.laying_sd_deg), (LEVEL, self.level_sd_deg), (CLOSURE, closure_deg)]
        return Deflection(turned.deflection_deg, Budget.of([*turned.budget, *extra]))

    def close(self, again: Mapping[str, Gravity], calibrations: Mapping[str, Calibration]) -> Datum:
        """The same datum after the drift check: how far each sensor has drifted enters the uncertainty.

        A measurement in between is off by anything from nothing to all of it: rectangular, GUM 4.3.7.
        """
        angles = {name: self.angle(name, gravity, calibrations[name]) for name, gravity in again.items()}
        return replace(self, drift_deg={name: angle.deflection_deg for name, angle in angles.items()})

    @property
    def closure_limit_deg(self) -> float:
        """How far a sensor may drift and the datum still holds: what two layings by hand differ by, three sigma.

        Three sigma are the action limits of a control chart (Shewhart; ISO 7870-2): with eight sensors on the flat a
        sound datum is still refused in one check of fifty at most. At 95 % it would be in every third.
        """
        return max(CLOSURE_DEG, ACTION_SIGMAS * math.sqrt(2) * self.laying_sd_deg)

    @property
    def holds(self) -> bool | None:
        """Whether the last drift check was inside its limit; None before the first."""
        if not self.drift_deg:
            return None
        return max(map(abs, self.drift_deg.values())) <= self.closure_limit_deg

    def to_dict(self) -> dict[str, object]:
        """Plain JSON-able values."""
        record = {"format": FORMAT, "kind": _KIND, **plain(self)}
        record["misclosure_deg"] = record.pop("drift_deg")  # as format 1 calls it
        return record

    @classmethod
    def from_dict(cls, record: Mapping[str, object]) -> Datum:
        """The datum that `to_dict` wrote. Raises as `records.read_record`."""

        def build(fields: dict[str, object]) -> Datum:
            return cls(
                table_of(fields["gravity"], Gravity.from_dict),
                number_of(fields["level_sd_deg"], 0.0),
                number_of(fields["laying_sd_deg"], 0.0),
                number_or_none(fields["table_tilt_deg"]),
                date_of(fields["date"]),
                table_of(fields["misclosure_deg"], number_of),
            )

        return read_record(record, _KIND, FORMAT, build)


def mismatch(left: Deflection, right: Deflection) -> Deflection:
    """Left minus right of two angles from one datum: the level of the table cancels."""
    return difference(left, right, shared=LEVEL)


def _laying_deg(priors: Priors, tilt_deg: float) -> float:
    """Standard deviation of one laying-down: the table's surface, and its tilt times how far off parallel."""
    return math.hypot(math.degrees(priors.laying_rad), tilt_deg * math.radians(PARALLEL_DEG))


def _refuse_off_base(gravity: Mapping[str, Gravity]) -> None:
    for name, laid in gravity.items():
        off_deg = angle_between_deg(laid.vector_g, [0.0, 0.0, 1.0])
        if off_deg > _STEEPEST_DEG:
            how = "lies upside down" if off_deg > 180 - _STEEPEST_DEG else f"is {off_deg:.0f}° off its base"
            raise WrongPose(f"sensor {name} {how}, expected within {_STEEPEST_DEG:g}°", "Lay it on its base, lid up")


def _refuse_unturned(tilts_deg: Mapping[str, float], tilt_deg: float, laying_deg: float) -> None:
    for name, seen_deg in tilts_deg.items():
        if abs(seen_deg - tilt_deg) > 5 * laying_deg + 0.1 * tilt_deg:
            raise WrongPose(
                f"sensor {name} saw a table {seen_deg:.2f}° off level, the others {tilt_deg:.2f}°; expected the same",
                "Turn every sensor end for end on its spot and take the datum again",
            )
