"""What a board grants and what it refuses, by the code in PROTOCOL.md."""

import itertools
import random
from zlib import crc32

import pytest

from hingeline_protocol.line import seal
from hingeline_protocol.messages import (
    PIECE_BYTES,
    STORED_BYTES,
    Err,
    Get,
    Hello,
    Identify,
    Ok,
    Put,
    Rate,
    SelfTest,
    Start,
    Status,
    Stop,
    pack,
)

SENSOR = 104
ONE = """
[[boards.sensors]]
name = "left"
chip = "mpu6050"
"""


@pytest.fixture
def setup(connected):
    """A bench, and the wire to its board of one MPU-6050, just started."""
    with connected(ONE) as setup:
        yield setup


@pytest.fixture(scope="module")
def wire(connected):
    """The wire to a board of one MPU-6050, for tests that leave it as it is."""
    with connected(ONE) as (_, wire):
        yield wire


def refusal(wire, message, *fields):
    """The code and text of the one answer to a request."""
    (answer,) = wire.ask(message, *fields)
    assert isinstance(answer, Err)
    return answer.code, answer.text


def put(wire, content, crc=None):
    """Store content in pieces; return the last answer."""
    crc = f"{crc32(content):08X}" if crc is None else crc
    pieces = [content[at : at + PIECE_BYTES] for at in range(0, len(content), PIECE_BYTES)]
    for number, piece in enumerate(pieces):
        *_, answer = wire.ask(Put, SENSOR, number, len(pieces), crc, piece)
    return answer


def get(wire):
    """What is stored, checked."""
    pieces = []
    for number in itertools.count():
        piece, _ = wire.ask(Get, SENSOR, number)
        pieces.append(piece.data)
        if number == piece.pieces - 1:
            break
    content = b"".join(pieces)
    assert piece.crc == f"{crc32(content):08X}"
    return content


@pytest.mark.parametrize(("lines_hz", "readings"), [(0, 1), (1, 0), (-1, -4), (50, 5), (201, 1), (1, 201)])
def test_rates_that_no_chip_keeps_are_refused(wire, lines_hz, readings):
    code, text = refusal(wire, Rate, lines_hz, readings)
    assert code == "range"
    assert f"{lines_hz} lines/s of {readings} readings" in text


def test_refusals_name_their_reason(wire):
    assert refusal(wire, Get, SENSOR, 0)[0] == "empty"
    assert refusal(wire, Get, 7, 0) == ("sensor", "no sensor 7 here")
    assert refusal(wire, SelfTest, 7)[0] == "sensor"
    assert refusal(wire, Put, SENSOR, 1, 2, "00000000", b"x")[0] == "piece"
    assert refusal(wire, Put, SENSOR, 0, 129, "00000000", b"x")[0] == "range"
    assert refusal(wire, Put, SENSOR, 0, 2, "00000000", b"too short for the first of two")[0] == "piece"
    wire.ask(Start)
    assert refusal(wire, SelfTest, SENSOR)[0] == "busy"
    wire.ask(Stop)


def test_a_host_of_other_protocols_hears_both_versions(wire):
    board, *_, refused = wire.ask(Hello, 2, 3)
    assert board.protocol == 1
    assert refused.code == "version"
    assert "1" in refused.text
    assert "2 to 3" in refused.text


def test_an_unknown_verb_and_wrong_fields_are_refused_by_number(wire):
    wire.port.write(seal(b"fly 77") + seal(b"rate 78 1"))
    first, second = wire.take(Err, 2)
    assert (first.request, first.code) == (77, "verb")
    assert (second.request, second.code) == (78, "fields")


@pytest.mark.parametrize("size", [1, PIECE_BYTES, PIECE_BYTES + 1, STORED_BYTES])
def test_a_calibration_is_kept_over_a_restart(setup, size):
    bench, wire = setup
    content = random.Random(size).randbytes(size)
    assert isinstance(put(wire, content), Ok)
    bench.do("reset", board="one")
    wire.next(lambda m: isinstance(m, Ok) and m.request == 0)
    assert get(wire) == content


def test_a_calibration_that_came_damaged_leaves_the_former(setup):
    _, wire = setup
    assert isinstance(put(wire, b"former"), Ok)
    refused = put(wire, b"new", crc=f"{crc32(b'other'):08X}")
    assert (refused.code, get(wire)) == ("piece", b"former")
    assert isinstance(put(wire, b"new"), Ok)
    assert get(wire) == b"new"


def test_a_piece_may_be_repeated_when_its_answer_was_lost(setup):
    _, wire = setup
    content = bytes(range(100))
    crc = f"{crc32(content):08X}"
    for piece in (0, 0, 1):
        at = piece * PIECE_BYTES
        *_, answer = wire.ask(Put, SENSOR, piece, 2, crc, content[at : at + PIECE_BYTES])
        assert isinstance(answer, Ok)
    assert get(wire) == content


def test_status_counts(setup):
    bench, wire = setup
    before = wire.ask(Status)[0]
    bench.do("wait", for_s=3.0)
    after = wire.ask(Status)[0]
    assert after.uptime_s - before.uptime_s == pytest.approx(3, abs=1)
    assert (after.streaming, after.lines_hz, after.readings, after.lines) == (0, 50, 4, 0)
    assert after.heap > 0 or bench.ports["one"].startswith("socket://"), "CPython, behind TCP, has none to tell of"


def test_a_missing_sensor_is_found_by_the_next_hello(setup):
    bench, wire = setup
    bench.do("fault", sensor="left", kind="absent")
    wire.until(lambda answers: answers[0].sensors == 0, Hello, 1, 1)
    bench.do("mend", sensor="left")
    wire.until(lambda answers: answers[0].sensors == 1, Hello, 1, 1)


def test_a_stranger_at_the_address_is_told_with_its_identity(setup):
    bench, wire = setup
    bench.do("fault", sensor="left", kind="identity")
    wire.until(lambda answers: answers[2].state == "identity", Hello, 1, 1)
    complaint = next(m for m in wire.log if isinstance(m, Err) and m.code == "chip")
    assert complaint.text.startswith("bus 0 address 0x68: register 0x75: wanted 0x12 or 0x19 or ")
    assert complaint.text.endswith("got 0xA5")
    assert refusal(wire, SelfTest, SENSOR)[0] == "chip"


def test_a_request_that_comes_byte_by_byte_is_answered_once(setup):
    """The board takes many steps between two bytes."""
    bench, wire = setup
    wire.ask(Status)
    for byte in pack(Status(777)):
        wire.port.write(bytes([byte]))
        bench.do("wait", for_s=0.05)
    wire.next(lambda message: isinstance(message, Ok) and message.request == 777)
    wire.ask(Status)
    assert not [message for message in wire.log if isinstance(message, Err)]
    assert [message.request for message in wire.log if isinstance(message, Ok)].count(777) == 1


def test_a_board_is_identified_for_a_while_that_has_a_limit(setup):
    _, wire = setup
    assert isinstance(wire.ask(Identify, 5)[-1], Ok)
    assert isinstance(wire.ask(Identify, 0)[-1], Ok)
    (refused,) = wire.ask(Identify, 61)
    assert (refused.code, refused.text) == ("range", "61 seconds: expected 0 to 60")
