"""A recorded session, or any lines, as a source: the same events as on the day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain, groupby, islice

from hingeline.device.link.decoder import Decoder, Line
from hingeline.device.link.times import Arrived, Mark, Ordered
from hingeline.device.samples import Counts, Event, Sample, SensorFault, SensorInfo


class Replay:
    """The events in `lines`, which name their port and arrival, and may have marks between (see `Ordered.skip`).

    Everything up to the first sample is read at once, so that `sensors` is known from the start.
    """

    def __init__(self, lines: Iterable[Line | Mark]) -> None:
        self._decoders: dict[str, Decoder] = {}
        arrivals = self._decode(lines)
        self._events = Ordered(chain(list(islice(arrivals, 1)), arrivals))

    @property
    def sensors(self) -> dict[str, SensorInfo]:
        """The sensors introduced so far, by sensor id."""
        decoders = self._decoders.values()
        return {info.sensor_id: info for decoder in decoders for info in decoder.sensors.values()}

    @property
    def counts(self) -> dict[str, Counts]:
        """By port, the lines so far."""
        return {port: decoder.counts for port, decoder in self._decoders.items()}

    def __iter__(self) -> Iterator[Event]:
        return self._events

    def skip(self) -> None:
        """Drop what comes before the next mark."""
        self._events.skip()

    def _decode(self, lines: Iterable[Line | Mark]) -> Iterator[Arrived | Mark]:
        for read, several in groupby(lines, key=_read):
            if isinstance(read, Mark):
                yield read
                continue
            port, arrival_ns = read
            if port not in self._decoders:
                self._decoders[port] = Decoder(port)
            decode = self._decoders[port].decode
            messages = (decode(line) for line in several if isinstance(line, Line))
            if events := [event for event in messages if isinstance(event, Sample | SensorFault)]:
                yield Arrived(arrival_ns, port, events)


def _read(line: Line | Mark) -> tuple[str, int] | Mark:
    """Key by which lines of one read go together; a mark stands alone."""
    return line if isinstance(line, Mark) else (line.port, line.arrival_ns)
