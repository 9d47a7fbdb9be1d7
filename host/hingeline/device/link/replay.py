"""A recorded session, or any lines, as a source: the same events as on the day."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import chain, groupby, islice
from math import isnan
from operator import itemgetter
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hingeline.device.link.decoder import Decoder, Line, SampleLines
from hingeline.device.link.times import Arrived, Mark, Ordered
from hingeline.device.samples import Counts, Event, Sample, SensorFault, SensorInfo
from hingeline_protocol.messages import NO_TEMPERATURE_CC


class Placed(NamedTuple):
    """What sample lines hold: by line its sensor and time, or None; counts (N, 3); temperatures (N,), NaN for none."""

    places: list[tuple[str, float] | None]
    counts: NDArray[np.float64]
    temperature_c: NDArray[np.float64]

    def by_sensor(self) -> dict[str, list[int]]:
        """By sensor id, which lines are its own."""
        numbers: dict[str, list[int]] = {}
        for number, place in enumerate(self.places):
            if place is not None:
                numbers.setdefault(place[0], []).append(number)
        return numbers

    def rows(self, numbers: list[int]) -> NDArray[np.float64]:
        """Of some lines that have a place (M,), time in s, counts and temperature (M, 5)."""
        times_s = [place[1] for number in numbers if (place := self.places[number]) is not None]
        return np.column_stack([times_s, self.counts[numbers], self.temperature_c[numbers]])


class Decoders(dict[str, Decoder]):
    """By port, what decodes the lines of its board."""

    def __missing__(self, port: str) -> Decoder:
        self[port] = Decoder(port)
        return self[port]

    def place(self, lines: SampleLines) -> Placed:
        """Decode sample lines, many at once: to the same numbers as `Decoder.decode` does one by one."""
        for port, count in Counter(lines.ports).items():
            self[port].counts.lines += count
        index, sequence, ticks_us, readings, *_, temperature_cc = lines.fields.T
        told = zip(lines.ports, *(each.tolist() for each in (index, sequence, ticks_us, lines.arrival_ns)), strict=True)
        return Placed(
            [self[port].place(*numbers) for port, *numbers in told],
            lines.fields[:, 4:7] / readings[:, None],
            np.where(temperature_cc == NO_TEMPERATURE_CC, np.nan, temperature_cc / 100),
        )


class Replay:
    """The events in `lines`, which name their port and arrival, and may have marks between (see `Ordered.skip`).

    Everything up to the first sample is read at once, so that `sensors` is known from the start.
    """

    def __init__(self, lines: Iterable[Line | SampleLines | Mark]) -> None:
        self._decoders = Decoders()
        arrivals = self._arrivals(lines)
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

    def _arrivals(self, lines: Iterable[Line | SampleLines | Mark]) -> Iterator[Arrived | Mark]:
        """Gather the events of each read: of lines that follow each other, from one port and of one time."""
        for read, several in groupby(self._decode(lines), key=itemgetter(0)):
            if isinstance(read, Mark):
                yield read
                continue
            port, arrival_ns = read
            if events := [event for _, event in several if event is not None]:
                yield Arrived(arrival_ns, port, events)

    def _decode(
        self, lines: Iterable[Line | SampleLines | Mark]
    ) -> Iterator[tuple[tuple[str, int] | Mark, Sample | SensorFault | None]]:
        """Give of each line of which read it is, and its event."""
        for line in lines:
            if isinstance(line, SampleLines):
                yield from zip(zip(line.ports, line.arrival_ns.tolist(), strict=True), self._samples(line), strict=True)
            elif isinstance(line, Line):
                message = self._decoders[line.port].decode(line)
                yield (line.port, line.arrival_ns), message if isinstance(message, Sample | SensorFault) else None
            else:
                yield line, None

    def _samples(self, lines: SampleLines) -> Iterator[Sample | None]:
        placed = self._decoders.place(lines)
        readings, sequence = lines.fields[:, 3].tolist(), lines.fields[:, 1].tolist()
        counts, temperatures_c = placed.counts.tolist(), placed.temperature_c.tolist()
        for place, each, number, celsius, line in zip(
            placed.places, counts, readings, temperatures_c, sequence, strict=True
        ):
            yield place and Sample(*place, tuple(each), number, None if isnan(celsius) else celsius, line)
