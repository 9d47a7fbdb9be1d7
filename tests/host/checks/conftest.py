"""Two sensors on a surface in numpy: gravity in their frames by scipy's `Rotation`, noise as of a chip."""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from hingeline.device.samples import Sample
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.scatter import Repeat
from hingeline_calibration.still import summarise
from hingeline_calibration.temperature import Tempco

COUNTS_PER_G = 16384.0
NOISE_G = 0.0026
"""Of a line: 400 µg/√Hz of the MPU-6050 over the 44 Hz of its filter (InvenSense PS-MPU-6000A, by secondary text)."""
LINES_HZ = 50.0


def instrument(side: str, board: str = "b") -> Instrument:
    """A sensor whose calibration is exact, of a chip that repeats exactly."""
    calibration = Calibration(
        sensor_id=f"{board}-{side}",
        chip="mpu6050",
        counts_per_g=COUNTS_PER_G,
        matrix_counts_per_g=COUNTS_PER_G * np.eye(3),
        bias_counts=np.zeros(3),
        covariance_parts={"noise": np.zeros((12, 12))},
        temperature_c=None,
        tempco=Tempco(np.zeros(3), np.zeros(3), False),
        date="2026-01-01T00:00:00+00:00",
        poses=(),
        residual_mg=0.0,
        noise_mg=0.0,
        table_tilt_deg={},
        squareness_deg={},
        priors_decide=(),
        tool_version="0",
        repeat=Repeat(0.0),
    )
    return Instrument(side, calibration.sensor_id, calibration)


def up_g(deflection_deg: np.ndarray) -> np.ndarray:
    """(N, 3) plumb line in the frame of a carrier on a skin that falls 4° aft, its surface deflected (N,)."""
    turn = Rotation.from_rotvec(np.outer(deflection_deg - 4.0, [1.0, 0.0, 0.0]), degrees=True)
    return turn.inv().apply([0.0, 0.0, 1.0])


def rest(left_deg, right_deg):
    """Return a rest of both sensors, without noise."""
    return {
        f"b-{side}": summarise(np.arange(50) / LINES_HZ, COUNTS_PER_G * up_g(np.full(50, deflection_deg)), [None] * 50)
        for side, deflection_deg in zip(("left", "right"), (left_deg, right_deg), strict=True)
    }


class Bench:
    """Left and right with seeded noise: `lines` of a movement, `rest` at an angle."""

    def __init__(self, boards: tuple[str, str] = ("b", "b")) -> None:
        self.sides = tuple(instrument(*one) for one in zip(("left", "right"), boards, strict=True))
        self._rng = np.random.default_rng(20)

    def counts(self, deflection_deg: np.ndarray, acceleration_g: float = 0.0) -> np.ndarray:
        """(N, 3) what a chip shows, accelerated along its y."""
        shown = up_g(deflection_deg) + np.array([0.0, acceleration_g, 0.0])
        return COUNTS_PER_G * (shown + self._rng.normal(0.0, NOISE_G, shown.shape))

    def rest(self, **by_side: float) -> dict:
        """Return a rest of a second, by sensor id."""
        times = np.arange(50) / LINES_HZ
        return {
            one.sensor_id: summarise(times, self.counts(np.full(50, by_side[one.side])), [None] * 50)
            for one in self.sides
        }

    def neutral(self) -> NeutralReading:
        """Both sides at rest at their neutral."""
        return NeutralReading(self.sides, self.rest(left=0.0, right=0.0))

    def samples(self, side: str, deflection_deg: np.ndarray, phase_s: float = 0.0) -> tuple[Sample, ...]:
        """Return the lines of a movement, 50 a second, deflection (N,) as it is at each of their times."""
        (one,) = (one for one in self.sides if one.side == side)
        return tuple(
            Sample(one.sensor_id, phase_s + index / LINES_HZ, tuple(counts), 4, None, index)
            for index, counts in enumerate(self.counts(deflection_deg))
        )


@pytest.fixture
def bench() -> Bench:
    """Two sensors of one board."""
    return Bench()


@pytest.fixture
def sweep() -> Callable[[float, float], np.ndarray]:
    """A function that gives the stick's course (N,), -1 to 1: two slow sweeps from end to end and back."""

    def course(seconds_a_stroke: float = 10.0, shift_s: float = 0.0) -> np.ndarray:
        turns = [0.0, -1.0, 1.0, -1.0, 1.0, 0.0]
        ends_s = np.cumsum([0.0, *(seconds_a_stroke * abs(b - a) / 2 for a, b in pairwise(turns))])
        return np.interp(np.arange(0, ends_s[-1], 1 / LINES_HZ) + shift_s, ends_s, turns)

    return course
