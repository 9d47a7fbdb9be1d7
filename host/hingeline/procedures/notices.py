"""What a person must hear of the sensors while a procedure waits: faults, frozen ones, cautions, each once."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from hingeline.device.samples import Sample, SensorFault
from hingeline.measure.capture import Capture, Readings
from hingeline.measure.cautions import (
    calibration_cautions,
    datum_cautions,
    gravity_cautions,
    temperature_cautions,
)
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum

FLICKER_S = 1.0
"""A contact that comes and goes is told so often at most; common practice, no source."""
RESTLESS_S = 8.0
"""Who moves on for so long leaves the surface too short at rest; common practice, no source."""


class Notices:
    """Notices what is wrong, and says it; a caution is recorded too."""

    def __init__(self, say: Callable[[str], None], caution: Callable[[str], None]) -> None:
        self._say, self._caution = say, caution
        self._heeded: dict[str, Calibration] = {}
        self._warned: set[tuple[str, str]] = set()
        self._frozen: frozenset[str] = frozenset()
        self._lost: dict[str, bool] = {}
        self._reported_lost: dict[str, bool] = {}
        self._reported_s = -math.inf
        self._restless_s: float | None = None

    def heed(self, calibrations: Iterable[Calibration], now: str) -> None:
        """Caution of the calibrations in use: of poor ones now, of their temperature once a sample leaves it."""
        for calibration in calibrations:
            if calibration.sensor_id not in self._heeded:
                self._heeded[calibration.sensor_id] = calibration
                for text in calibration_cautions(calibration, now):
                    self._caution(text)

    def heed_datum(self, datum: Datum, now: str) -> None:
        """Caution of a datum that is old, or older than a calibration in use."""
        for text in datum_cautions(datum, self._heeded.values(), now):
            self._caution(text)

    def notice(self, event: Sample | SensorFault, capture: Capture) -> None:
        """Tell of a sensor that stopped answering or repeats one reading, and of its return."""
        if capture.frozen != self._frozen:
            for sensor_id in sorted(capture.frozen - self._frozen):
                self._say(f"Sensor {sensor_id} repeats one reading: it is frozen, it measures nothing.")
            for sensor_id in sorted(self._frozen - capture.frozen):
                self._say(f"Sensor {sensor_id} measures again.")
            self._frozen = capture.frozen
        if isinstance(event, SensorFault) and event.sensor_id in capture.sensor_ids:
            self._lost[event.sensor_id] = event.code == "lost"
        if self._lost != self._reported_lost and abs(event.time_s - self._reported_s) >= FLICKER_S:
            for sensor_id, is_lost in self._lost.items():
                if is_lost != self._reported_lost.get(sensor_id, False):
                    words = "does not answer: check its wires" if is_lost else "answers again"
                    self._say(f"Sensor {sensor_id} {words}.")
            self._reported_lost, self._reported_s = dict(self._lost), event.time_s

    def notice_temperatures(self, temperatures_c: dict[str, float | None]) -> None:
        """Caution of a sensor that has left the temperature of its calibration."""
        for sensor_id, temperature_c in temperatures_c.items():
            if sensor_id in self._heeded:
                self._warn("temperature", sensor_id, temperature_cautions(self._heeded[sensor_id], temperature_c))

    def notice_readings(self, readings: Readings) -> None:
        """Caution of a sensor whose gravity at rest is not 1 g. Raises `NotMeasurable` as `gravity_cautions`."""
        for sensor_id, window in readings.items():
            if sensor_id in self._heeded:
                self._warn("gravity", sensor_id, gravity_cautions(self._heeded[sensor_id], window))

    def notice_motion(self, moving: bool, time_s: float, text: str) -> None:
        """Say a text, once, where the sensors move on and on."""
        if not moving:
            self._restless_s = None
        elif self._restless_s is None:
            self._restless_s = time_s
        elif text and time_s - self._restless_s > RESTLESS_S and ("restless", text) not in self._warned:
            self._warned.add(("restless", text))
            self._say(text)

    def _warn(self, of: str, sensor_id: str, texts: tuple[str, ...]) -> None:
        if (of, sensor_id) not in self._warned:
            for text in texts:
                self._warned.add((of, sensor_id))
                self._caution(text)
