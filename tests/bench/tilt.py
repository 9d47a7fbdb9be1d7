"""The angle of a million gravity vectors, beside `ahrs`."""

from __future__ import annotations

import numpy as np
from ahrs.filters import Tilt
from tests.bench.rows import Row
from tests.bench.timing import times
from tests.calibration import simulate as sim

from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Track
from hingeline_calibration.gravity import Gravity

VECTORS, REPETITIONS = 1_000_000, 5
AGREE_DEG = 1e-9


def rows() -> list[Row]:
    """Return the time of both, which find the same: about our x from level, a deflection is the roll."""
    rng = np.random.default_rng(1)
    gravity_g = rng.normal((0, 0.3, 0.9), 0.05, (VECTORS, 3))
    benches = sim.draw(rng, 1)
    calibration = sim.calibrated(benches, sim.poses_of(benches, rng, sim.TWELVE)[0])
    instrument = Instrument("left", calibration.sensor_id, calibration)
    level = Gravity(np.array([0.0, 0.0, 1.0]), np.eye(3) * 1e-8, 25.0, 0.0, 1.0)
    time_s = np.arange(VECTORS) / 50.0

    def ours() -> np.ndarray:
        return Track(instrument, level, time_s, gravity_g, level.covariance_g2, 25.0).deflection_deg

    def theirs() -> np.ndarray:
        return np.degrees(Tilt(acc=gravity_g, representation="angles").angles[:, 0])

    if not np.allclose(ours(), theirs(), rtol=0, atol=AGREE_DEG):
        raise ValueError("the two do not find the same angles")
    return [
        times(
            "deflection of 1e6 vectors",
            "ms",
            1e3,
            ours,
            peer="ahrs Tilt",
            theirs=theirs,
            at_most=1.0,
            repetitions=REPETITIONS,
        )
    ]
