"""A calibration: counts to gravity in the carrier frame, with all that is known of its error."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array
from hingeline_calibration.errors import MissingTemperature
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.poses import FACES
from hingeline_calibration.records import (
    array_of,
    date_of,
    number_of,
    number_or_none,
    plain,
    read_record,
    rows_of,
    table_of,
    text_of,
)
from hingeline_calibration.scatter import Repeat
from hingeline_calibration.still import Reading
from hingeline_calibration.temperature import Tempco

FORMAT = 1
"""Version of `Calibration.to_dict`."""
UNKNOWN_WARMER_C = 5.0
"""Standard deviation of how much warmer than when calibrated a chip is whose temperature nobody knows; common practice,
no source."""
_KIND = "calibration"
_WORST_CONDITION = 100.0
"""Of S: three axes that are nearly square to each other and of like scale have about 1."""
_ROUNDING = 12 * 5e-6
"""Covariances (12, 12) are kept to six digits: so much of the greatest variance the least may come out below zero."""


@dataclass(frozen=True, eq=False)
class Calibration:
    """Calibration of one sensor in its carrier: counts = S · gravity + b (MODEL.md, equation 1).

    Attributes
    ----------
    sensor_id, chip, counts_per_g
        Which sensor, its chip's name and nominal sensitivity.
    matrix_counts_per_g : (3, 3)
        S: scale, misalignment and rotation to the carrier's faces.
    bias_counts : (3,)
        b at `temperature_c`.
    covariance_parts
        By source, its part of the covariance (12, 12) of (S row by row, b).
    temperature_c
        Mean chip temperature of the poses; None without a thermometer.
    tempco
        Change of b with temperature.
    date
        ISO 8601.
    poses
        Face and yaw of each pose, in the order taken; None and None for a leaning one.
    residual_mg
        Root mean square of |gravity| - 1 g over the poses.
    noise_mg
        What the noise of the poses alone makes of it.
    table_tilt_deg, squareness_deg
        What the fit found: by face, two components and two standard deviations (`poses.face_axes`).
    priors_decide
        Directions that no pose saw and the priors alone bound, such as ``"shear xy"`` without leaned poses.
    tool_version
        Version of hingeline that fitted it.
    poor
        Reasons why it is poor, of a calibration that was kept all the same.
    repeat
        To what the chip repeats a reading, as the poses show it.

    Examples
    --------
    A sensor of 16384 counts/g, 100 counts too high on x, laid on each of its six faces:

    >>> import numpy as np
    >>> from hingeline_calibration.fit import calibrate
    >>> from hingeline_calibration.poses import FACES, TakenPose, face_up
    >>> from hingeline_calibration.still import Reading
    >>> def reading(up, start_s):
    ...     return Reading(16384 * np.array(up) + [100, 0, 0], np.eye(3), 25.0, 1.0, 50, start_s)
    >>> calibration = calibrate(
    ...     [TakenPose(reading(face_up(face), 10.0 * number), face, 0.0) for number, face in enumerate(FACES)],
    ...     sensor_id="e66166d8e325-104", chip="mpu6050", counts_per_g=16384,
    ...     date="2026-03-01T10:00:00+00:00", tool_version="1.0",
    ... )
    >>> calibration.bias_counts.round(3).tolist()
    [100.0, 0.0, 0.0]
    >>> calibration.gravity(reading([0.0, -0.5, 0.866], 90.0)).vector_g.round(3).tolist()
    [0.0, -0.5, 0.866]
    >>> Calibration.from_dict(calibration.to_dict()).chip
    'mpu6050'
    """

    sensor_id: str
    chip: str
    counts_per_g: float
    matrix_counts_per_g: Array
    bias_counts: Array
    covariance_parts: Mapping[str, Array]
    temperature_c: float | None
    tempco: Tempco
    date: str
    poses: tuple[tuple[str | None, float | None], ...]
    residual_mg: float
    noise_mg: float
    table_tilt_deg: Mapping[str, tuple[float, float, float, float]]
    squareness_deg: Mapping[str, tuple[float, float, float, float]]
    priors_decide: tuple[str, ...]
    tool_version: str
    poor: tuple[str, ...] = field(default=())
    repeat: Repeat = field(default=Repeat())

    @property
    def covariance(self) -> Array:
        """Covariance (12, 12) of (S row by row, b), in counts² per g², per g and plain."""
        return np.asarray(np.sum(list(self.covariance_parts.values()), axis=0))

    @property
    def scale_counts_per_g(self) -> Array:
        """(3,) length of each row of S: counts per g of each chip axis along itself."""
        return np.asarray(np.linalg.norm(self.matrix_counts_per_g, axis=1))

    def bias_counts_at(self, temperature_c: float | None) -> Array:
        """(3,) b at a chip temperature. Raises as `gravity`."""
        return np.asarray(self.bias_counts + self.tempco.counts_per_c * self._warmer_c(temperature_c))

    @cached_property
    def inverse_g_per_count(self) -> Array:
        """(3, 3) inverse of S."""
        inverse: Array = np.linalg.inv(self.matrix_counts_per_g)
        return inverse

    def gravity_of_counts(self, counts: ArrayLike, temperature_c: float | None) -> Array:
        """Gravity in g in the carrier frame, S⁻¹ (counts - b), of counts (3,) or (N, 3). Raises as `gravity`."""
        return np.asarray((counts - self.bias_counts_at(temperature_c)) @ self.inverse_g_per_count.T)

    def gravity(self, reading: Reading) -> Gravity:
        """Gravity in g in the carrier frame at a reading.

        Raises
        ------
        MissingTemperature
            The temperature coefficient was measured and the reading has no temperature.
        """
        inverse = self.inverse_g_per_count
        return Gravity(
            vector_g=self.gravity_of_counts(reading.mean_counts, reading.temperature_c),
            covariance_g2=inverse @ reading.end_counts2 @ inverse.T,
            temperature_c=reading.temperature_c,
            time_s=reading.start_s,
            duration_s=reading.duration_s,
        )

    def parameter_slope(self, gravity: Gravity) -> Array:
        """(3, 12) change of a gravity for a change of (S row by row, b): dg = -S⁻¹ (dS g + db)."""
        inverse = self.inverse_g_per_count
        by_matrix = (inverse[:, :, None] * gravity.vector_g).reshape(3, 9)
        return -np.concatenate([by_matrix, inverse], axis=1)

    def tempco_slope(self, gravity: Gravity) -> Array:
        """(3, 3) change of a gravity for a change of the temperature coefficient, per count per °C.

        Where a temperature is unknown, for a chip that is warmer by `UNKNOWN_WARMER_C`: alike in all readings.
        """
        known = gravity.temperature_c is not None and self.temperature_c is not None
        warmer_c = self._warmer_c(gravity.temperature_c) if known else UNKNOWN_WARMER_C
        return -self.inverse_g_per_count * warmer_c

    def errors_g(self, gravity: Gravity) -> Array:
        """(3, 15) how far a gravity is off for each independent error of the calibration, one standard deviation."""
        by_parameters = self.parameter_slope(gravity) @ self.root_covariance
        by_warmth = self.tempco_slope(gravity) * self.tempco.deviation_counts_per_c
        return np.concatenate([by_parameters, by_warmth], axis=1)

    @cached_property
    def root_covariance(self) -> Array:
        """(12, 12) matrix L with L·Lᵀ the covariance."""
        variances, directions = np.linalg.eigh(self.covariance)
        return np.asarray(directions * np.sqrt(np.maximum(variances, 0.0)))

    def with_tempco(self, tempco: Tempco) -> Calibration:
        """The same calibration with a measured temperature coefficient."""
        return replace(self, tempco=tempco)

    def marked_poor(self, reasons: tuple[str, ...]) -> Calibration:
        """The same calibration, kept although it is poor."""
        return replace(self, poor=reasons)

    def _warmer_c(self, temperature_c: float | None) -> float:
        if temperature_c is not None and self.temperature_c is not None:
            return temperature_c - self.temperature_c
        if self.tempco.measured:
            raise MissingTemperature(
                f"a reading of {self.sensor_id} without temperature, expected one: its coefficient was measured",
                "Check the chip's thermometer, or calibrate again without the coefficient",
            )
        return 0.0

    def to_dict(self) -> dict[str, object]:
        """Plain JSON-able values; covariances as their upper triangles."""
        upper = np.triu_indices(12)
        record = {"format": FORMAT, "kind": _KIND, **plain(self)}
        record["placements"] = record.pop("poses")
        record["covariance_parts"] = {
            name: [float(f"{value:.6g}") for value in part[upper]] for name, part in self.covariance_parts.items()
        }
        return record

    @classmethod
    def from_dict(cls, record: Mapping[str, object]) -> Calibration:
        """The calibration that `to_dict` wrote. Raises as `records.read_record`."""
        return read_record(record, _KIND, FORMAT, _from_fields)


def _from_fields(fields: dict[str, object]) -> Calibration:
    read: dict[str, Callable[[object], object]] = {
        "sensor_id": text_of,
        "chip": text_of,
        "counts_per_g": lambda value: number_of(value, 1.0),
        "matrix_counts_per_g": _invertible,
        "bias_counts": lambda value: array_of(value, 3),
        "covariance_parts": _covariances,
        "temperature_c": number_or_none,
        "tempco": Tempco.read,
        "date": date_of,
        "placements": lambda value: rows_of(value, _pose),
        "residual_mg": number_of,
        "noise_mg": number_of,
        "table_tilt_deg": _by_face,
        "squareness_deg": _by_face,
        "priors_decide": lambda value: rows_of(value, text_of),
        "tool_version": text_of,
        "poor": lambda value: rows_of(value, text_of),
        "repeat": Repeat.read,
    }
    values = {name: read[name](value) for name, value in fields.items()}
    faces = {face for face, _ in values["placements"]} - {None}  # type: ignore[attr-defined]
    if not faces or not faces == set(values["table_tilt_deg"]) == set(values["squareness_deg"]):  # type: ignore
        raise ValueError("the tilt of the table, or how square the carrier is, of other faces than were laid down")
    return Calibration(poses=values.pop("placements"), **values)  # type: ignore[arg-type]


def _invertible(value: object) -> Array:
    matrix = array_of(value, 3, 3)
    if not np.linalg.cond(matrix) < _WORST_CONDITION:
        raise ValueError("a matrix that gives no gravity")
    return matrix


def _pose(value: object) -> tuple[str | None, float | None]:
    face, yaw_deg = rows_of(value, lambda part: part)
    if face not in (None, *FACES):
        raise ValueError(f"{face!r} is no face of a carrier")
    return face, number_or_none(yaw_deg)


def _by_face(value: object) -> dict[str, tuple[float, float, float, float]]:
    return table_of(value, lambda row: (*array_of(row, 4).tolist(),))


def _covariances(value: object) -> dict[str, Array]:
    parts: dict[str, Array] = table_of(value, _symmetric)
    if not parts:
        raise ValueError("no covariance: no calibration is exact")
    return parts


def _symmetric(upper: object) -> Array:
    matrix = np.zeros((12, 12))
    matrix[np.triu_indices(12)] = array_of(upper, 78)
    whole = np.asarray(matrix + np.triu(matrix, 1).T)
    variances = np.linalg.eigvalsh(whole)
    if variances[0] < -_ROUNDING * variances[-1]:
        raise ValueError("a covariance with negative variances")
    return whole
