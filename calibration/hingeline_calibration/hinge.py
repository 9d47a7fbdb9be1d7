"""Deflection about a hinge from two gravity vectors, with its uncertainty. Signs: DEVELOPERS.md."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array, cross, dot
from hingeline_calibration.budget import Budget, Row
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import HingeVertical
from hingeline_calibration.estimator import CALIBRATION_NOISE
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.travel import travel_mm, travel_slope_mm_per_deg

LEAST_ANGLE_DEG = 20.0
"""A hinge nearer to the plumb line is refused: noise and axis errors grow by more than 1/sin 20° = 2.9."""

HINGE_AXIS = "hinge axis"
"""The source of a budget: where the hinge runs in the sensor."""
_SMALL_RAD = 1e-5
"""Step of a numerical derivative."""
_NODES = math.sqrt(3) * np.array([-1.0, 0.0, 1.0])
_OFFSETS = tuple(offsets.ravel() for offsets in np.meshgrid(_NODES, _NODES, indexing="ij"))
_WEIGHTS = np.outer([1.0, 4.0, 1.0], [1.0, 4.0, 1.0]).ravel() / 36


@dataclass(frozen=True)
class HingeAxis:
    """Direction of the hinge in the carrier frame, a unit vector (3,), and how well it is known.

    The carrier's long edge lies along the hinge line, so it is +x unless measured. Its standard deviations are those
    about the carrier's z, and out of the carrier's base.

    Attributes
    ----------
    alone
        Of a measured axis: both deviations, and the correlation of yaw and elevation, without the calibration's part.
    by_calibration
        Of a measured axis, (2, 12): change of yaw and elevation, in rad, for a change of the calibration's (S row by
        row, b). The same error is in the angles about this axis, and part of it cancels there.
    """

    direction: tuple[float, float, float] = (1.0, 0.0, 0.0)
    yaw_sd_deg: float = 1.0
    elevation_sd_deg: float = 0.5
    alone: tuple[float, float, float] | None = None
    by_calibration: tuple[tuple[float, ...], ...] = ()

    def __post_init__(self) -> None:
        length = math.hypot(*self.direction)
        x, y, z = (value / length for value in self.direction)
        object.__setattr__(self, "direction", (x, y, z))

    @property
    def yaw_deg(self) -> float:
        """How far the hinge is turned about the carrier's z from its edge, counter-clockwise positive."""
        return math.degrees(math.atan2(self.direction[1], self.direction[0]))

    @cached_property
    def errors(self) -> Array:
        """(2, 3) how far the axis is off, in rad, for each of two errors of one standard deviation.

        They are independent of each other and of the calibration's error.
        """
        yaw, elevation = across(np.array(self.direction))
        yaw_deg, elevation_deg, correlation = self.alone or (self.yaw_sd_deg, self.elevation_sd_deg, 0.0)
        by_yaw, by_elevation = math.radians(yaw_deg), math.radians(elevation_deg)
        apart = math.sqrt(max(0.0, 1 - correlation**2))
        return np.array([by_yaw * yaw + correlation * by_elevation * elevation, apart * by_elevation * elevation])

    @cached_property
    def nodes(self) -> Array:
        """(9, 3) unit axes about this one: a three-point Gauss-Hermite quadrature in yaw and elevation."""
        first, second = self.errors
        by_first, by_second = _OFFSETS
        return _units(np.array(self.direction) + by_first[:, None] * first + by_second[:, None] * second)


@dataclass(frozen=True)
class Travel:
    """Travel at a chord with its uncertainty."""

    travel_mm: float
    convention: str
    budget: Budget

    @property
    def standard_uncertainty_mm(self) -> float:
        """All sources together."""
        return self.budget.standard_uncertainty

    @property
    def interval_mm(self) -> tuple[float, float]:
        """Holds the true travel with 95 %."""
        return self.budget.interval(self.travel_mm)


@dataclass(frozen=True)
class Deflection:
    """An angle about a hinge, trailing edge up positive, with its uncertainty in degrees."""

    deflection_deg: float
    budget: Budget

    @property
    def standard_uncertainty_deg(self) -> float:
        """All sources together."""
        return self.budget.standard_uncertainty

    @property
    def interval_deg(self) -> tuple[float, float]:
        """Holds the true angle with 95 %."""
        return self.budget.interval(self.deflection_deg)

    def travel(self, chord_mm: float, convention: str, chord_sd_mm: float = 0.0) -> Travel:
        """Travel at a chord, in a convention of travel.py, the chord known to a standard deviation."""
        slope = travel_slope_mm_per_deg(self.deflection_deg, chord_mm, convention)
        per_chord = travel_mm(self.deflection_deg, 1.0, convention)
        sources = [*self.budget.scaled(slope), ("chord", chord_sd_mm * per_chord)]
        return Travel(chord_mm * per_chord, convention, Budget.of(sources))


def turn_about(hinge: ArrayLike, start: ArrayLike, end: ArrayLike) -> Array:
    """Turn (), or turns (N,), of a surface about a unit axis, in rad, trailing edge up positive.

    From gravity before to gravity after, both in the sensor's frame and of any length. Each is (3,), or (N, 3) where
    there are several.

    Notes
    -----
    δ = atan2(h·(u × u0), u·u0 - (h·u)(h·u0)), u0 the start, u the end (DEVELOPERS.md).
    """
    h, u0, u = (np.asarray(value, float) for value in (hinge, start, end))
    return np.asarray(np.arctan2(dot(cross(u, u0), h), dot(u, u0) - dot(u, h) * dot(u0, h)))


def streamwise_deg(deflection_deg: float, sweep_deg: float) -> float:
    """Angle of a deflected surface in a section along the stream, tan δs = tan δ · cos Λ, for a swept, level hinge."""
    turn = math.radians(deflection_deg)
    return math.degrees(math.atan2(math.sin(turn) * math.cos(math.radians(sweep_deg)), math.cos(turn)))


def deflection(neutral: Gravity, now: Gravity, calibration: Calibration, hinge: HingeAxis | None = None) -> Deflection:
    """Deflection of a surface from its neutral, by one sensor; about the carrier's +x where no hinge is given.

    The calibration's error is common to both positions and cancels where it should.

    Raises
    ------
    HingeVertical
        The axis is within `LEAST_ANGLE_DEG` of the plumb line in either position.
    """
    return _angle(neutral, now, calibration, hinge, _axis_uncertainty)


def angle_from(
    reference: Gravity, now: Gravity, calibration: Calibration, hinge: HingeAxis | None = None
) -> Deflection:
    """Angle about the hinge between two attitudes of a carrier that no turn about the hinge joins, such as the datum.

    As `deflection`, but for the hinge's row. What lies along the hinge differs between the two, by the dihedral: a yaw
    of the hinge in its carrier turns the angle by tan(dihedral) times itself, in first order. Raises as `deflection`.
    """
    return _angle(reference, now, calibration, hinge, _axis_spread)


def difference(left: Deflection, right: Deflection, shared: str | None = None) -> Deflection:
    """Left minus right of two sensors; a source that both share cancels, all others are independent."""
    budget = Budget.of(row for row in (*left.budget, *right.budget) if row.source != shared)
    return Deflection(left.deflection_deg - right.deflection_deg, budget)


def error_of_turn(hinge: Array, start: Array, end: Array, inverse_g_per_count: Array) -> Array:
    """(12,) change of `turn_about`, in rad, for a change of a calibration's (S row by row, b)."""
    by_start, by_end = (_slope(hinge, u) @ inverse_g_per_count for u in (start, end))
    by_matrix = by_end[:, None] * end - by_start[:, None] * start  # through `parameter_slope`
    return np.concatenate([by_matrix.ravel(), by_end - by_start])


def _angle(
    start: Gravity,
    end: Gravity,
    calibration: Calibration,
    hinge: HingeAxis | None,
    uncertainty_by_axis: Callable[[HingeAxis, Gravity, Gravity, float], float],
) -> Deflection:
    """The angle with its uncertainty by source; that of the hinge, in rad, is left to a function. As `deflection`."""
    axis = HingeAxis() if hinge is None else hinge
    for gravity in (start, end):
        refuse_vertical(axis, gravity)
    turn = float(turn_about(axis.direction, start.vector_g, end.vector_g))
    sources = [*_sources(axis, start, end, calibration), (HINGE_AXIS, uncertainty_by_axis(axis, start, end, turn))]
    return Deflection(math.degrees(turn), Budget.of(sources).scaled(math.degrees(1)))


def _sources(
    axis: HingeAxis, neutral: Gravity, now: Gravity, calibration: Calibration
) -> list[Row | tuple[str, float]]:
    """Standard uncertainties of a turn, in rad, but for that of the hinge."""
    h = np.array(axis.direction)
    pairs = ((_slope(h, neutral.vector_g), neutral), (-_slope(h, now.vector_g), now))
    noise = sum(float(slope @ gravity.covariance_g2 @ slope) for slope, gravity in pairs)
    repeat = calibration.repeat
    freedom = math.inf if repeat.freedom is None else repeat.freedom
    by_chip = math.sqrt(repeat.variance_g2 * sum(float(slope @ slope) for slope, _ in pairs))
    common = error_of_turn(h, neutral.vector_g, now.vector_g, calibration.inverse_g_per_count)
    if axis.by_calibration:
        common = common + _by_axis(h, neutral.vector_g, now.vector_g) @ np.array(axis.by_calibration)
    by_tempco = sum(slope @ calibration.tempco_slope(gravity) for slope, gravity in pairs)
    return [
        ("noise", math.sqrt(noise)),
        Row("chip", by_chip, freedom),
        *(
            Row(name, _root(common, part), freedom if name == CALIBRATION_NOISE else math.inf)
            for name, part in calibration.covariance_parts.items()
        ),
        ("temperature", float(np.linalg.norm(by_tempco * calibration.tempco.deviation_counts_per_c))),
    ]


def _root(slope: Array, covariance: Array) -> float:
    """Standard deviation along a slope; 0 where a covariance that was kept to six digits comes out below it."""
    return math.sqrt(max(0.0, float(slope @ covariance @ slope)))


def _slope(h: Array, u: Array) -> Array:
    """(3,) change of the angle of u about h, in rad, for a change of u."""
    across = u - (h @ u) * h
    slope: Array = cross(h, across) / (across @ across)
    return slope


def _by_axis(h: Array, start: Array, end: Array) -> Array:
    """(2,) change of the turn between two vectors, in rad, for a yaw and an elevation of the axis."""
    moves = _SMALL_RAD * np.array(across(h))
    forth, back = (turn_about(_units(h + way * moves), start, end) for way in (1, -1))
    return (forth - back) / (2 * _SMALL_RAD)


def _axis_uncertainty(axis: HingeAxis, start: Gravity, end: Gravity, turn: float) -> float:
    """Root mean square error, in rad, of a turn about the axis where the hinge lies a little otherwise.

    First and second order (GUM 5.1.2, note), over the `nodes` of the axis: exact for a quadratic error.
    """
    h, hinges = np.array(axis.direction), axis.nodes
    starts = start.shifted(*_OFFSETS)
    along = dot(hinges, starts)[:, None] * hinges
    ends = along + math.cos(turn) * (starts - along) - math.sin(turn) * cross(hinges, starts)
    shown = ends + end.vector_g - end.shifted(*_OFFSETS)
    return _rms(turn_about(h, start.vector_g, shown) - turn)


def _axis_spread(axis: HingeAxis, start: Gravity, end: Gravity, turn: float) -> float:
    """Root mean square, in rad, of how far the angle of two vectors about each of the `nodes` is from a turn."""
    return _rms(turn_about(axis.nodes, start.shifted(*_OFFSETS), end.shifted(*_OFFSETS)) - turn)


def _rms(errors: Array) -> float:
    """Root mean square, in rad, of angles by the weights of the `nodes`."""
    wrapped = np.remainder(errors + math.pi, math.tau) - math.pi
    return math.sqrt(float(_WEIGHTS @ wrapped**2))


def _units(vectors: Array) -> Array:
    """Vectors (K, 3), each at the length 1."""
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))


def across(h: Array) -> tuple[Array, Array]:
    """Unit directions (3,) in which an axis moves for a yaw about the carrier's z and for an elevation."""
    up = np.array([0.0, 0.0, 1.0]) if abs(h[2]) < 0.99 else np.array([0.0, 1.0, 0.0])
    yaw = cross(up, h)
    yaw = yaw / np.linalg.norm(yaw)
    return yaw, cross(h, yaw)


def refuse_vertical(axis: HingeAxis, gravity: Gravity) -> None:
    """Raise `HingeVertical` where the axis is within `LEAST_ANGLE_DEG` of the plumb line."""
    along = abs(float(gravity.vector_g @ axis.direction)) / math.hypot(*gravity.vector_g.tolist())
    angle_deg = math.degrees(math.acos(min(1.0, along)))
    if angle_deg < LEAST_ANGLE_DEG:
        raise HingeVertical(
            f"the hinge is {angle_deg:.0f}° from the plumb line, expected at least {LEAST_ANGLE_DEG:g}°: gravity says "
            "nothing of a turn about it",
            "Lay the model on its side, so that the hinge is level",
        )
