"""A stream of the real firmware, read by the second reader: every line is as PROTOCOL.md says."""

from itertools import pairwise

from tests.boards import PAIR
from tests.firmware.conftest import POLL_S
from tests.shared_protocol import second_reader
from tests.shared_protocol.test_second_reader import package_reads

from hingeline_protocol.messages import Rate, Start

LINES = 400


def test_every_line_of_a_stream(connected):
    with connected(PAIR) as (_, wire):
        wire.ask(Rate, 100, 2)
        wire.ask(Start)
        received = b""
        while received.count(b"\n") <= LINES:
            received += wire.port.read() if wire.port.wait(POLL_S) else b""
    lines = received.splitlines(keepends=True)[1 : LINES + 1]
    streams: dict[int, list[int]] = {}
    for line in lines:
        assert second_reader.read(line) == package_reads(line)
        verb, sensor, sequence, *_ = second_reader.read(line)
        assert verb == "s"
        streams.setdefault(sensor, []).append(sequence)
    assert len(streams) == 2
    for numbers in streams.values():
        assert all((after - before) % 65536 == 1 for before, after in pairwise(numbers))
