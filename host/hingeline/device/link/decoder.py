"""A board's lines into events and answers. Pure: bytes in, values out, no port and no clock of its own."""

from __future__ import annotations

from binascii import crc32
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

from hingeline.device.link.limits import READINGS, is_allowed
from hingeline.device.link.times import BoardClock
from hingeline.device.samples import Counts, Sample, SensorFault, SensorInfo
from hingeline_protocol import messages
from hingeline_protocol.line import LINE_LIMIT, LineError, unseal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

NOTICES = 16
REPEAT_LINES = 64
"""A sequence number that steps back by up to this is a repeated line; by more, a new count."""
_BODY, _SEQUENCE_PERIOD, _TICKS_PERIOD_US = messages.SAMPLE_FORMAT, messages.SEQUENCE_PERIOD, messages.TICKS_PERIOD_US
_SENSORS = {b"%d" % number: number for number in range(256)}
_READINGS = {b"%d" % number: number for number in range(1, READINGS + 1)}
"""Looked up in half the time that `int` takes; the others that are allowed are left to `parse`."""
_USUAL_CC = {b"%d" % number: number for number in range(4096)}
"""Temperatures from 0 to 41 °C, looked up as well."""


class Line(NamedTuple):
    """One received line without its line feed, and the host's monotonic time at which it had arrived."""

    port: str
    arrival_ns: int
    raw: bytes


class SampleLines(NamedTuple):
    """Received sample lines that are sound, in their order: arrivals (N,), fields as in `messages.Sample` (N, 8)."""

    ports: list[str]
    arrival_ns: NDArray[np.int64]
    fields: NDArray[np.int64]


class Splitter:
    """Cuts received bytes into lines, the same however the bytes come.

    A line that is too long is cut into pieces, each longer than a line may be: the decoder counts them as bad.
    """

    def __init__(self) -> None:
        self._rest = b""

    def cut(self, data: bytes) -> list[bytes]:
        """Cut off the lines that `data` completes."""
        *lines, self._rest = (self._rest + data).split(b"\n")
        if len(self._rest) > LINE_LIMIT or any(len(line) > LINE_LIMIT for line in lines):
            *lines, self._rest = (piece for line in (*lines, self._rest) for piece in _pieces(line))
        return lines


def _pieces(line: bytes) -> Iterator[bytes]:
    while len(line) > LINE_LIMIT:
        yield line[: LINE_LIMIT + 1]
        line = line[LINE_LIMIT + 1 :]
    yield line


def sample_fields(raw: bytes) -> tuple[int, ...] | None:
    """Parse a sound sample line into fields as `messages.Sample` orders them; None for any other line.

    The same as `parse(unseal(raw))` of what is allowed, without the table: this runs for every line.
    """
    body, _, mark = raw.rpartition(b"*")
    expected = b"%08X" % crc32(body)
    if mark != expected and mark.rstrip(b"\r\n") != expected:
        return None
    try:
        _, sensor, sequence, ticks_us, readings, x, y, z, temperature_cc = body.split(b" ")
        cc = _USUAL_CC[temperature_cc] if temperature_cc in _USUAL_CC else int(temperature_cc)
        fields = (_SENSORS[sensor], int(sequence), int(ticks_us), _READINGS[readings], int(x), int(y), int(z), cc)
    except (ValueError, KeyError):
        return None
    _, line_number, ticks, _, x_sum, y_sum, z_sum, _ = fields
    allowed = (
        _BODY % fields == body  # a number has one spelling
        and 0 <= line_number < _SEQUENCE_PERIOD
        and 0 <= ticks < _TICKS_PERIOD_US
        and -32768 <= cc <= 32767
        and -0x80000000 <= x_sum <= 0x7FFFFFFF
        and -0x80000000 <= y_sum <= 0x7FFFFFFF
        and -0x80000000 <= z_sum <= 0x7FFFFFFF
    )
    return fields if allowed else None


class Decoder:
    """Decodes the lines of the board at one port. Samples before its introduction are passed over."""

    def __init__(self, port: str) -> None:
        self.port = port
        self.board: Any = None
        """Its introduction, a `messages.Board`; None before it."""
        self.about: Any = messages.About(0, "unknown", "off", "")
        self.sensors: dict[int, SensorInfo] = {}
        """By their index on the board."""
        self.counts = Counts()
        self.notices: tuple[str, ...] = ()
        """The last messages that the board sent unasked, each once: what is wrong with it or a sensor."""
        self.foreign = False
        """Another board is at the port since lines came; it is passed over until the former one is back."""
        self._clock = BoardClock()
        self._expected: dict[int, int] = {}

    def decode(self, line: Line) -> Any:
        """Turn a line into a `Sample`, a `SensorFault` or the message of an answer; None if it is none of these.

        The first line after opening a port may be the tail of one: it is not counted if it is bad.
        """
        if not line.raw.rstrip(b"\r"):
            return None  # with an empty line a board ends one that it could not send whole
        self.counts.lines += 1
        fields = sample_fields(line.raw)
        if fields is not None:
            return self._sample(fields, line.arrival_ns)
        try:
            message = messages.parse(unseal(line.raw))
        except LineError:
            self.counts.bad += self.counts.lines > 1
            return None
        except messages.MessageError:
            message = None
        if message is None or not is_allowed(message):
            self.counts.unknown += 1
            return None
        if isinstance(message, messages.Sample | messages.Fault):
            take = self._fault if isinstance(message, messages.Fault) else self._sample
            return take(message, line.arrival_ns)
        if isinstance(message, messages.About):
            self.about = message
        if isinstance(message, messages.Board | messages.Sensor):
            self._introduce(message)
        if isinstance(message, messages.Err) and message.request == 0 and message.code != "checksum":
            self.notices = tuple(dict.fromkeys((*self.notices, message.text)))[-NOTICES:]
        return message

    def place(self, index: int, sequence: int, ticks_us: int, arrival_ns: int) -> tuple[str, float] | None:
        """Whose a sample line is, and when by the host's time scale; None where it is to be passed over."""
        sensor = self.sensors.get(index)
        if sensor is None and self.board is None:
            return None
        if sensor is None or self.foreign:
            self.counts.unknown += 1
            return None
        missing = (sequence - self._expected.get(index, sequence)) % messages.SEQUENCE_PERIOD
        if missing:
            if missing >= messages.SEQUENCE_PERIOD - REPEAT_LINES:
                self.counts.repeated += 1
                return None
            if missing < messages.SEQUENCE_PERIOD // 2:
                self.counts.lost[sensor.sensor_id] += missing
        self._expected[index] = sequence + 1
        return sensor.sensor_id, self._clock.time_s(ticks_us, arrival_ns)

    def _sample(self, fields: tuple[int, ...], arrival_ns: int) -> Sample | None:
        index, sequence, ticks_us, readings, x, y, z, temperature_cc = fields
        placed = self.place(index, sequence, ticks_us, arrival_ns)
        if placed is None:
            return None
        return Sample(
            *placed,
            (x / readings, y / readings, z / readings),
            readings,
            None if temperature_cc == messages.NO_TEMPERATURE_CC else temperature_cc / 100,
            sequence,
        )

    def _fault(self, message: Any, arrival_ns: int) -> SensorFault | None:
        sensor = self.sensors.get(message.sensor)
        if sensor is None or self.foreign:
            self.counts.unknown += 1
            return None
        self.counts.faults += 1
        time_s = self._clock.time_s(message.ticks_us, arrival_ns)
        return SensorFault(sensor.sensor_id, time_s, message.code, message.number)

    def _introduce(self, message: Any) -> None:
        if isinstance(message, messages.Board):
            same = self.board is not None and message.uid == self.board.uid
            self.foreign = bool(self._expected) and not same
            if self.foreign:
                self.counts.resets += 1
                return
            if not same:
                self.sensors = {}
            elif message.request == 0:
                self.counts.resets += 1
            self.board = message
            self._clock, self._expected = BoardClock(), {}
        elif self.board is not None and not self.foreign:
            _, index, *chip = message
            self.sensors[index] = SensorInfo(f"{self.board.uid}-{index}", self.board.board, self.port, *chip)
