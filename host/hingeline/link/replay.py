"""A recorded session, or any lines, as a source: the same events as on the day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain, islice

from hingeline.link.decoder import Decoder, Line
from hingeline.link.merge import Arrived, Mark, Ordered
from hingeline.samples import Counts, Event, Sample, SensorFault, SensorInfo


class Replay:
    """The events in `lines`, which name their port and arrival, and may have marks between (see `Ordered.skip`).

    Everything up to the first sample is read at once, so that `sensors` knows who is there.
    """

    def __init__(self, lines: Iterable[Line | Mark]) -> None:
        self._decoders: dict[str, Decoder] = {}
        arrivals = self._decode(lines)
        self._events = Ordered(chain(list(islice(arrivals, 1)), arrivals))

    @property
    def sensors(self) -> dict[str, SensorInfo]:
        """The sensors introduced so far, by sensor id."""
        return {
            info.sensor_id: info for decoder in self._decoders.values() for info in decoder.sensors.values()
        }

    @property
    def counts(self) -> dict[str, Counts]:
        """By port, what the lines were so far."""
        return {port: decoder.counts for port, decoder in self._decoders.items()}

    def __iter__(self) -> Iterator[Event]:
        return self._events

    def skip(self) -> None:
        """Drop what comes before the next mark."""
        self._events.skip()

    def _decode(self, lines: Iterable[Line | Mark]) -> Iterator[Arrived | Mark]:
        for line in lines:
            if isinstance(line, Mark):
                yield line
                continue
            decoder = self._decoders.get(line.port)
            if decoder is None:
                decoder = self._decoders[line.port] = Decoder(line.port)
            event = decoder.decode(line)
            if isinstance(event, Sample | SensorFault):
                yield Arrived(line.arrival_ns, line.port, event)
