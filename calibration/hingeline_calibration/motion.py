"""The model's own motion, seen by a sensor on a fixed part, taken out of the reading of a sensor on a surface."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis

HEADING_SD_DEG = 3.0
"""How well the fixed sensor's edge lies square to the centre line by eye; common practice, no source."""
_EDGE = np.array([1.0, 0.0, 0.0])


def without_motion(
    now: Gravity,
    fixed_first: Gravity,
    fixed_now: Gravity,
    fixed: Calibration,
    *,
    hinge: HingeAxis,
    heading_deg: float,
) -> Gravity:
    """What a sensor on a surface would show now, had the model not moved since a first reading of the fixed sensor.

    The hinge is in the frame of the surface's sensor. `heading_deg` is from the fixed sensor's x to the hinge, both
    seen from above at the first reading, counter-clockwise positive: the sweep on the left side, its negative on the
    right, where the fixed sensor's edge is square to the centre line.

    Notes
    -----
    Both sensors see one plumb line now, and the hinge's lean from it, which no deflection changes. With the heading
    that is the hinge in the frame of the fixed sensor; plumb line and hinge together are the rotation Q between the
    two frames. The first plumb line, which the fixed sensor kept, is Q · first.
    The gravity's covariance grows by the noise of both fixed readings and what their chip repeats to, by the heading's
    uncertainty, and by how far an error of the fixed sensor's calibration, one standard deviation, moves the result:
    nothing as long as nothing moves.
    An error of the hinge in its carrier moves it too, and the angle about that hinge with it: `Gravity.by_axis`.
    """
    h, heading = np.array(hinge.direction), math.radians(heading_deg)

    def first_seen(first_g: Array, now_g: Array, axis: Array = h, heading: float = heading) -> Array:
        up = _between(now.vector_g, axis / np.linalg.norm(axis), first_g, now_g, heading) @ first_g
        return np.asarray(up * np.linalg.norm(now.vector_g) / np.linalg.norm(up))

    first, then = fixed_first.vector_g, fixed_now.vector_g
    vector = first_seen(first, then)
    errors = [
        first_seen(first + first_g, then + now_g) - vector
        for first_g, now_g in zip(fixed.errors_g(fixed_first).T, fixed.errors_g(fixed_now).T, strict=True)
    ]
    swung = first_seen(first, then, heading=heading + math.radians(HEADING_SD_DEG)) - vector
    q = _between(now.vector_g, h, first, then, heading)
    repeats = 2 * fixed.repeat.variance_g2 * np.eye(3)
    noise = q @ (fixed_first.covariance_g2 + fixed_now.covariance_g2) @ q.T + repeats
    further = np.array([swung, *errors])
    covariance_g2 = now.covariance_g2 + noise + further.T @ further
    by_axis = np.array([first_seen(first, then, h + error) - vector for error in hinge.errors])
    return replace(now, vector_g=vector, covariance_g2=covariance_g2, by_axis=by_axis)


def _between(now: Array, axis: Array, first: Array, fixed_now: Array, heading: float) -> Array:
    """(3, 3) rotation from the frame of the fixed sensor to that of the surface's, in which the hinge is the axis."""
    up = fixed_now / np.linalg.norm(fixed_now)
    edge, across, above = _levelled(first, _EDGE)
    level = math.cos(heading) * edge + math.sin(heading) * across
    by_level, by_height = float(level @ up), float(above @ up)
    share = float(axis @ now) / float(np.linalg.norm(now)) / math.hypot(by_level, by_height)
    height = math.asin(min(1.0, max(-1.0, share))) - math.atan2(by_level, by_height)
    hinge = math.cos(height) * level + math.sin(height) * above
    return np.asarray(_levelled(now, axis).T @ _levelled(fixed_now, hinge))


def _levelled(up: Array, edge: Array) -> Array:
    """(3, 3) rotation from a carrier's frame to one with z along the plumb line and x along the edge from above."""
    z = up / np.linalg.norm(up)
    x = edge - (z @ edge) * z
    x /= np.linalg.norm(x)
    return np.array([x, np.cross(z, x), z])
