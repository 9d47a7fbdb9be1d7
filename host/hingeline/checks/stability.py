"""Sensors that lie untouched for minutes: noise, drift, warming."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from hingeline.device.samples import Sample, SensorInfo
from hingeline.errors import NotMeasurable
from hingeline_calibration.arrays import angle_between_deg
from hingeline_calibration.chips import chip_facts
from hingeline_calibration.noise import Stability, noise_density, stability, without_gaps
from hingeline_calibration.still import Reading, summarise
from hingeline_calibration.temperature import WarmUp, warm_up
from hingeline_protocol.messages import SEQUENCE_PERIOD

Floats = NDArray[np.float64]

MOVED_DEG = 0.2
"""Neither drift nor noise turns the mean of a second by this much within a second."""
READING_S = 10.0
"""Length of the readings that drift is computed between."""
RISE_C = 0.5
"""A chip that warms by less is warm."""
_LEAST_LINES = 8


@dataclass(frozen=True, eq=False)
class StaticRecording:
    """The N lines of one sensor that lies untouched: times (N,), counts (N, 3) and temperatures of the chip.

    The sequence (N,) is as the board counts, modulo `SEQUENCE_PERIOD`.
    """

    info: SensorInfo
    time_s: Floats
    counts: Floats
    temperatures_c: tuple[float | None, ...]
    sequence: NDArray[np.int64]

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """Means over `READING_S` each."""
        return self.means(READING_S)

    def means(self, over_s: float) -> tuple[Reading, ...]:
        """Means over consecutive stretches of this many seconds."""
        numbers = (self.time_s - self.time_s[0]) // over_s
        places = [np.flatnonzero(numbers == number) for number in np.unique(numbers)]
        return tuple(
            summarise(self.time_s[place], self.counts[place], [self.temperatures_c[i] for i in place])
            for place in places
            if place.size > 1
        )

    @property
    def drift_deg(self) -> float:
        """How far up has turned in the carrier from the first reading to the last, in degrees."""
        return angle_between_deg(self.readings[0].mean_counts, self.readings[-1].mean_counts)

    @property
    def warming(self) -> WarmUp | None:
        """How the chip warms up; None where it has no thermometer or is warm."""
        known = np.array(
            [(each.start_s, each.temperature_c) for each in self.readings if each.temperature_c is not None]
        )
        return None if len(known) < 4 or np.ptp(known[:, 1]) < RISE_C else warm_up(*known.T)

    @cached_property
    def stability_deg(self) -> Stability:
        """Allan deviation, as an angle, root mean square over the axes."""
        lines_g, interval_s = self._evenly
        axes = [stability(axis, interval_s) for axis in lines_g.T]
        squares = np.mean([axis.deviations**2 for axis in axes], axis=0)
        return Stability(axes[0].times_s, np.degrees(np.sqrt(squares)))

    @cached_property
    def _evenly(self) -> tuple[Floats, float]:
        """All lines (K, 3) in g, lost ones between their neighbours, and the time from one to the next."""
        counts = without_gaps(self.counts, self.sequence, SEQUENCE_PERIOD)
        return counts / self.info.counts_per_g, float(self.time_s[-1] - self.time_s[0]) / (len(counts) - 1)

    @property
    def density_ug_per_rthz(self) -> float:
        """Noise density, one-sided, root mean square over the axes."""
        return 1e6 * float(np.sqrt(np.mean(noise_density(*self._evenly) ** 2)))

    @property
    def datasheet_ug_per_rthz(self) -> float:
        """The same by the chip's datasheet."""
        return float(np.sqrt(np.mean(np.square(chip_facts(self.info.chip).noise_ug_per_rthz))))


def static_recording(info: SensorInfo, lines: Sequence[Sample]) -> StaticRecording:
    """The recording of a sensor that nothing moved. Raises `NotMeasurable` where it was, or too few lines came."""
    if len(lines) < _LEAST_LINES:
        raise NotMeasurable(
            f"{len(lines)} lines of sensor {info.sensor_id} came, expected many",
            "Check its wires: `hingeline doctor`",
        )
    recording = StaticRecording(
        info,
        np.array([line.time_s for line in lines]),
        np.array([line.counts for line in lines], float),
        tuple(line.temperature_c for line in lines),
        np.array([line.sequence for line in lines]),
    )
    for before, after in pairwise(recording.means(1.0)):
        turned_deg = angle_between_deg(before.mean_counts, after.mean_counts)
        if turned_deg > MOVED_DEG:
            raise NotMeasurable(
                f"Sensor {info.sensor_id} turned by {turned_deg:.1f}° within a second, expected it untouched",
                "Lay it where nobody bumps it, and start again",
            )
    return recording
