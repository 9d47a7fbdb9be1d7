"""What sensors show while they lie untouched for minutes: noise, drift, warming."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from hingeline.device.samples import BoardGone, Sample, SensorFault, SensorInfo, Source
from hingeline.errors import BoardLost, NotMeasurable
from hingeline_calibration.arrays import angle_between_deg
from hingeline_calibration.chips import chip_facts
from hingeline_calibration.drift import WarmUp, warm_up
from hingeline_calibration.noise import Stability, noise_density, stability, without_gaps
from hingeline_calibration.still import Reading, summarise
from hingeline_protocol.messages import SEQUENCE_PERIOD

Floats = NDArray[np.float64]

MOVED_DEG = 0.2
"""No drift and no noise turns the mean of a second by so much within a second."""
WINDOW_S = 10.0
"""Length of the readings between which drift is told."""
RISE_C = 0.5
"""A chip that warms by less is warm."""


@dataclass(frozen=True, eq=False)
class Standing:
    """The lines of one sensor, N in number.

    Attributes
    ----------
    info
        Which sensor.
    time_s : (N,)
    counts : (N, 3)
        Per reading.
    temperatures_c
        Of the chip, None where it gives none.
    sequence : (N,)
        As the board counts them, modulo `SEQUENCE_PERIOD`.
    """

    info: SensorInfo
    time_s: Floats
    counts: Floats
    temperatures_c: tuple[float | None, ...]
    sequence: NDArray[np.int64]

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """Means over `WINDOW_S` each."""
        number = ((self.time_s - self.time_s[0]) // WINDOW_S).astype(int)
        places = [np.flatnonzero(number == one) for one in range(number[-1] + 1)]
        return tuple(
            summarise(self.time_s[place], self.counts[place], [self.temperatures_c[i] for i in place])
            for place in places
            if place.size > 1
        )

    @property
    def drift_deg(self) -> float:
        """How far up has turned in the carrier from the first reading to the last."""
        return angle_between_deg(self.readings[0].mean_counts, self.readings[-1].mean_counts)

    @property
    def warming(self) -> WarmUp | None:
        """How the chip warms up; None where it gives no temperature or is warm."""
        known = [one for one in self.readings if one.temperature_c is not None]
        temperatures = [one.temperature_c for one in known]
        if len(known) < 4 or np.ptp(np.array(temperatures, float)) < RISE_C:
            return None
        return warm_up([one.start_s for one in known], np.array(temperatures, float))

    @cached_property
    def stability_deg(self) -> Stability:
        """Allan deviation, as an angle, root mean square over the axes."""
        lines_g, interval_s = self._evenly
        axes = [stability(axis, interval_s) for axis in lines_g.T]
        squares = np.mean([one.deviations**2 for one in axes], axis=0)
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


def stand(
    source: Source, sensor_ids: Collection[str], for_s: float, told: Callable[[float, Sample], None]
) -> dict[str, Standing]:
    """Return what sensors show in a time in which none is moved.

    Parameters
    ----------
    source
        Where the events come from.
    sensor_ids
        Which sensors.
    for_s
        How long.
    told
        Called with the time since the first line and each sample.

    Raises
    ------
    BoardLost
        A board or a sensor was lost.
    NotMeasurable
        A sensor was moved, or too few lines came.
    """
    samples: dict[str, list[Sample]] = {name: [] for name in sensor_ids}
    first_s: float | None = None
    for event in source:
        if isinstance(event, BoardGone):
            raise event.error
        if event.sensor_id not in samples:
            continue
        if isinstance(event, SensorFault):
            raise BoardLost(
                f"Sensor {event.sensor_id} stopped answering", "Check its four wires, then start again"
            )
        first_s = event.time_s if first_s is None else first_s
        if event.time_s - first_s > for_s:
            break
        samples[event.sensor_id].append(event)
        told(event.time_s - first_s, event)
    return {name: _standing(source.sensors[name], lines) for name, lines in samples.items()}


def _standing(info: SensorInfo, lines: list[Sample]) -> Standing:
    if len(lines) < 8:
        raise NotMeasurable(
            f"{len(lines)} lines of sensor {info.sensor_id} came, expected many",
            "Check its wires: `hingeline doctor`",
        )
    found = Standing(
        info,
        np.array([one.time_s for one in lines]),
        np.array([one.counts for one in lines], float),
        tuple(one.temperature_c for one in lines),
        np.array([one.sequence for one in lines]),
    )
    _refuse_moved(found)
    return found


def _refuse_moved(found: Standing) -> None:
    second = (found.time_s - found.time_s[0]).astype(int)
    means = [found.counts[second == one].mean(axis=0) for one in np.unique(second)]
    for before, after in pairwise(means):
        turned_deg = angle_between_deg(before, after)
        if turned_deg > MOVED_DEG:
            raise NotMeasurable(
                f"Sensor {found.info.sensor_id} turned by {turned_deg:.1f}° within a second, expected it untouched",
                "Lay it where nobody bumps it, and start again",
            )
