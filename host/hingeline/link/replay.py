"""A recorded session, or any lines, as a source: the same events as on the day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain

from hingeline.link.decoder import Decoder, Line
from hingeline.link.merge import Arrived, InOrder
from hingeline.samples import Counts, Event, Sample, SensorFault, SensorInfo


class Replay:
    """The events in `lines`, which name their port and arrival.

    Everything up to the first sample is read at once, so that `sensors` knows who is there.
    """

    def __init__(self, lines: Iterable[Line]) -> None:
        self._decoders: dict[str, Decoder] = {}
        self._arrivals = self._decode(lines)
        self._arrivals = chain(list(self._first()), self._arrivals)

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
        order = InOrder()
        for arrived in self._arrivals:
            yield from order.push(arrived)
        yield from order.rest()

    def _decode(self, lines: Iterable[Line]) -> Iterator[Arrived]:
        for line in lines:
            decoder = self._decoders.get(line.port)
            if decoder is None:
                decoder = self._decoders[line.port] = Decoder(line.port)
            event = decoder.decode(line)
            if isinstance(event, Sample | SensorFault):
                yield Arrived(line.arrival_ns, line.port, event)

    def _first(self) -> Iterator[Arrived]:
        for arrived in self._arrivals:
            yield arrived
            return
