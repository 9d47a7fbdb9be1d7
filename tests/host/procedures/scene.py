"""A model on its stand with a sensor on each side of a surface: gravity in every carrier, a chip's noise, and time.

A carrier lies on a skin: its y, the arrow, to the trailing edge, its z up from the skin, its x along the hinge. What is
up in it is then off z toward y by the angle by which the trailing edge went up.
"""

from collections.abc import Mapping
from itertools import pairwise

import numpy as np
from scipy.spatial.transform import Rotation
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, NOISE_G, instrument

from hingeline.device.samples import Sample, SensorInfo
from hingeline.procedures.procedure import Taken
from hingeline_calibration.still import summarise

SKIN_DEG = -4.0
"""A wing's upper skin falls to its trailing edge."""


def info(sensor_id: str) -> SensorInfo:
    """A sensor as its board introduces it."""
    return SensorInfo(sensor_id, "board", "port", "mpu6050", 0, 104, int(COUNTS_PER_G), 200, 44, "relative", "ok")


class Scene:
    """Sides of a surface, each with a sensor; every event takes its time.

    Parameters
    ----------
    sides
        "left", "right" or "middle".

    Attributes
    ----------
    askew_deg
        By side, by how much its sensor is turned on the skin, off the hinge.
    on_its_head
        Sides whose sensor has its lid to the ground.
    shock_g
        By side, a bias that the calibration knows nothing of.
    pitch_deg
        By how much the whole model's nose was lowered.
    """

    def __init__(self, *sides: str) -> None:
        self.instruments = tuple(map(instrument, sides))
        self.time_s, self._rng = 100.0, np.random.default_rng(13)
        self.askew_deg: dict[str, float] = {}
        self.on_its_head: set[str] = set()
        self.shock_g: dict[str, tuple[float, float, float]] = {}
        self.pitch_deg = 0.0
        self.stands = dict.fromkeys(sides, 0.0)
        self._still_since_s = dict.fromkeys(sides, self.time_s)

    @property
    def ids(self) -> tuple[str, ...]:
        """Of the sensors."""
        return tuple(each.sensor_id for each in self.instruments)

    def _counts(self, side: str, deflection_deg: np.ndarray) -> np.ndarray:
        """(N, 3) what a chip shows at each deflection (N,)."""
        about_hinge_deg = deflection_deg + SKIN_DEG + self.pitch_deg
        model = Rotation.from_rotvec(np.outer(about_hinge_deg, [1.0, 0.0, 0.0]), degrees=True)
        carrier = Rotation.from_euler("z", self.askew_deg.get(side, 0.0), degrees=True)
        if side in self.on_its_head:
            carrier = Rotation.from_euler("x", 180, degrees=True)
        up = carrier.inv().apply(model.inv().apply([0.0, 0.0, 1.0]))
        noise = self._rng.normal(0.0, NOISE_G, up.shape)
        return COUNTS_PER_G * (up + np.array(self.shock_g.get(side, (0, 0, 0))) + noise)

    def _time(self, seconds: float) -> np.ndarray:
        times_s = self.time_s + np.arange(round(seconds * LINES_HZ)) / LINES_HZ
        self.time_s = float(times_s[-1]) + 1 / LINES_HZ
        return times_s

    def track(self, courses: Mapping[str, np.ndarray]) -> dict[str, tuple[Sample, ...]]:
        """The samples of courses by side, of one length, in degrees from neutral; sides without a course stand."""
        (size,) = {course.size for course in courses.values()}
        times_s = self._time(size / LINES_HZ)
        tracks = {}
        for each in self.instruments:
            course = courses.get(each.side, np.full(size, self.stands[each.side]))
            counts = self._counts(each.side, course)
            self.stands[each.side] = float(course[-1])
            tracks[each.sensor_id] = tuple(
                Sample(each.sensor_id, float(time_s), tuple(line), 4, None, number)
                for number, (time_s, line) in enumerate(zip(times_s, counts, strict=True))
            )
        return tracks

    def rests(self, **stands_deg: float) -> dict:
        """The readings of a second at these deflections, in degrees; a side not named stands still as before."""
        self.stands |= stands_deg
        self._still_since_s |= dict.fromkeys(stands_deg, self.time_s)
        times_s = self._time(1.0)
        return {
            each.sensor_id: summarise(
                times_s,
                self._counts(each.side, np.full(times_s.size, self.stands[each.side])),
                [None] * times_s.size,
                start_s=self._still_since_s[each.side],
            )
            for each in self.instruments
        }

    def still(self, *, moved: bool = True, confirmed: bool = False, **stands_deg: float) -> Taken:
        """The sides come to rest at these deflections, in degrees; the others stand where they stood."""
        return Taken(self.rests(**stands_deg), {}, moved, confirmed)

    def goes(self, *, confirmed: bool = False, **courses: np.ndarray) -> Taken:
        """The sides go these courses, and rest at the end."""
        tracks = self.track(courses)
        return Taken(self.rests(**{side: self.stands[side] for side in courses}), tracks, True, confirmed)


def through(*places_deg: float, seconds: float = 1.0) -> np.ndarray:
    """A course (N,) from place to place, each way in so many seconds."""
    lines = round(seconds * LINES_HZ)
    ways = [np.linspace(a, b, lines) for a, b in pairwise(places_deg)]
    return np.concatenate(ways)


def after(procedure, *events):
    """The procedure that several events make of this one."""
    for event in events:
        procedure = procedure.after(event).procedure
    return procedure
