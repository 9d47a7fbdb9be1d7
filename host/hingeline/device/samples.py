"""What comes out of a board's lines: samples in counts, and what happens to sensors and boards meanwhile."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import NamedTuple

from hingeline.errors import BoardLost


class Sample(NamedTuple):
    """The mean of the readings of one line, in the chip's counts, its x, y, z in the axes of the chip.

    `time_s` is that of the line's first reading: the board's clock on the time scale of the host (see `link.times`).
    `temperature_c` is the chip's, of a relative thermometer from an unknown origin, None without one. `sequence` counts
    the sensor's lines modulo 65536.
    """

    sensor_id: str
    time_s: float
    counts: tuple[float, float, float]
    readings: int
    temperature_c: float | None
    sequence: int


class SensorFault(NamedTuple):
    """A chip that vanished (`lost`) or answers again (`back`); `number` is the cause the board gives."""

    sensor_id: str
    time_s: float
    code: str
    number: int


class BoardGone(NamedTuple):
    """The last event of a board: it was pulled, fell silent or was reset. A measurement raises `error`."""

    time_s: float
    error: BoardLost


class Tick(NamedTuple):
    """All that has arrived by now was taken; `time_s` is the host's monotonic clock. No recording has any."""

    time_s: float


Event = Sample | SensorFault | BoardGone | Tick


@dataclass(frozen=True)
class SensorInfo:
    """How a board introduced one of its sensors.

    `sensor_id` is `<uid of the board>-<index on the board>`, `board` the board's kind. The sensitivity is the nominal
    one; `rate_hz` and `filter_hz` are output data rate and bandwidth of the chip. `thermometer` is `absolute`,
    `relative` or `none`. `state` is `ok`, `absent`, `identity` (another chip) or `setup` (a register does not hold what
    was written).
    """

    sensor_id: str
    board: str
    port: str
    chip: str
    bus: int
    address: int
    counts_per_g: int
    rate_hz: int
    filter_hz: int
    thermometer: str
    state: str

    @property
    def index(self) -> int:
        """The number of the sensor on its board."""
        return int(self.sensor_id.rpartition("-")[2])


@dataclass
class Counts:
    """How many lines of which kind a board has sent."""

    lines: int = 0
    bad: int = 0  # their checksum or form is wrong
    unknown: int = 0  # sound ones of an unknown verb, or with fields that the protocol does not allow
    lost: Counter[str] = field(default_factory=Counter)  # by sensor id: missing by the sequence numbers
    repeated: int = 0  # sample lines that came twice
    resets: int = 0  # restarts of the board, and other boards in its place
    faults: int = 0
