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
_EDGE = HingeAxis()


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
    seen from above, counter-clockwise positive: the sweep on the left side, its negative on the right, where the fixed
    sensor's edge is square to the centre line.

    Notes
    -----
    Both sensors see one plumb line, and how their edges lie about it is known: that is the rotation Q between their
    frames now, whatever the surface's deflection. The first plumb line, which the fixed sensor kept, is Q · first.
    The gravity's covariance grows by the noise of both fixed readings, by the heading's uncertainty, and by how far an
    error of the fixed sensor's calibration, one standard deviation, moves the result: nothing as long as nothing moves.
    """
    cosine, sine = math.cos(math.radians(heading_deg)), math.sin(math.radians(heading_deg))
    heading = np.array([[cosine, sine, 0], [-sine, cosine, 0], [0, 0, 1.0]])
    levelled = _levelled(now.vector_g, hinge).T @ heading

    def first_seen(first_g: Array, now_g: Array) -> Array:
        up = levelled @ _levelled(now_g, _EDGE) @ first_g
        return np.asarray(up * np.linalg.norm(now.vector_g) / np.linalg.norm(up))

    q = levelled @ _levelled(fixed_now.vector_g, _EDGE)
    vector = first_seen(fixed_first.vector_g, fixed_now.vector_g)
    errors = [
        first_seen(fixed_first.vector_g + first_g, fixed_now.vector_g + now_g) - vector
        for first_g, now_g in zip(fixed.errors_g(fixed_first).T, fixed.errors_g(fixed_now).T, strict=True)
    ]
    swung = math.radians(HEADING_SD_DEG) * np.cross(now.vector_g, vector)
    noise = q @ (fixed_first.covariance_g2 + fixed_now.covariance_g2) @ q.T
    further = np.array([swung, *errors])
    return replace(now, vector_g=vector, covariance_g2=now.covariance_g2 + noise + further.T @ further)


def _levelled(up: Array, edge: HingeAxis) -> Array:
    """(3, 3) rotation from a carrier's frame to one with z along the plumb line and x along the edge from above."""
    z = up / np.linalg.norm(up)
    x = np.array(edge.direction) - (z @ edge.direction) * z
    x /= np.linalg.norm(x)
    return np.array([x, np.cross(z, x), z])
