"""Lines into numbers, checksum verified, beside the same numbers in other forms."""

from __future__ import annotations

import json
import random
import struct
from binascii import crc32
from functools import reduce
from operator import xor

import pynmea2
from cobs import cobs
from tests.bench.rows import Row
from tests.bench.timing import rates

from hingeline.device.link.decoder import Decoder, Line, Splitter, sample_fields
from hingeline_protocol.line import seal
from hingeline_protocol.messages import Board, Ok, Sample, Sensor, pack

LINES, SENSORS, REPETITIONS = 20_000, 8, 9
READ_BYTES = 480
"""A read of the stream holds some ten lines."""
BINARY = struct.Struct("<BHIBiiih")
FIELDS = tuple[int, ...]


class SMP(pynmea2.TalkerSentence):  # type: ignore[misc]
    """Our fields as a sentence of that library, which finds it by its name."""

    fields = tuple((name, name, int) for name in Sample._fields)


def rows() -> list[Row]:
    """Return how many lines a second each way decodes."""
    rng = random.Random(1)
    numbers = [
        (i % SENSORS, i // SENSORS % 65536, i * 2500, 4, *(rng.randint(-70_000, 70_000) for _ in "xyz"), 2512)
        for i in range(LINES)
    ]
    lines = [pack(Sample(*fields)) for fields in numbers]
    sentences = [_sentence(fields) for fields in numbers]
    objects = [seal(json.dumps(Sample(*fields)._asdict()).encode()) for fields in numbers]
    frames = [_frame(fields) for fields in numbers]
    assert [sample_fields(line.rstrip()) for line in lines] == numbers
    assert [_read_sentence(line) for line in sentences] == numbers
    assert [tuple(_read_object(line).values()) for line in objects] == numbers
    assert [_read_frame(line) for line in frames] == numbers
    stripped = [line.rstrip(b"\n") for line in lines]
    peers = {
        "pynmea2, fields read": lambda: [_read_sentence(line) for line in sentences],
        "json.loads, with our checksum": lambda: [_read_object(line) for line in objects],
        "json.loads, no checksum": lambda: [json.loads(line[:-10]) for line in objects],
        "COBS and struct, with CRC-32": lambda: [_read_frame(line) for line in frames],
    }
    wanted = {"pynmea2, fields read": 8.0, "json.loads, with our checksum": 2.0}
    found = rates(
        "decoding, line to fields",
        "lines/s",
        LINES,
        lambda: [sample_fields(line) for line in stripped],
        peers,
        at_least=wanted,
        repetitions=REPETITIONS,
    )
    stream = b"".join(lines)
    return found + rates(
        "decoding as it runs, bytes to Sample",
        "lines/s",
        LINES,
        lambda: _decoded(stream),
        {"pynmea2, fields read": peers["pynmea2, fields read"]},
        at_least={},
        repetitions=REPETITIONS,
    )


def _sentence(fields: FIELDS) -> bytes:
    body = "HLSMP," + ",".join(map(str, fields))
    return f"${body}*{reduce(xor, body.encode()):02X}\r\n".encode()


def _read_sentence(line: bytes) -> FIELDS:
    told = pynmea2.parse(line.decode(), check=True)
    return (
        told.sensor,
        told.sequence,
        told.ticks_us,
        told.readings,
        told.x,
        told.y,
        told.z,
        told.temperature_cc,
    )


def _read_object(line: bytes) -> dict[str, int]:
    body, _, mark = line.rstrip(b"\n").rpartition(b"*")
    if mark != b"%08X" % crc32(body):
        raise ValueError(line)
    told: dict[str, int] = json.loads(body)
    return told


def _frame(fields: FIELDS) -> bytes:
    body = BINARY.pack(*fields)
    return bytes(cobs.encode(body + struct.pack("<I", crc32(body)))) + b"\0"


def _read_frame(line: bytes) -> FIELDS:
    frame = cobs.decode(line[:-1])
    if int.from_bytes(frame[-4:], "little") != crc32(frame[:-4]):
        raise ValueError(line)
    return BINARY.unpack(frame[:-4])


def _decoded(stream: bytes) -> None:
    decoder, splitter = Decoder("bench"), Splitter()
    sensors = (Sensor(1, i, "mpu6050", 0, 104, 16384, 200, 94, "absolute", "ok") for i in range(SENSORS))
    for message in (Board(1, 1, "0.1.0", "pico", "b0", SENSORS), *sensors, Ok(1)):
        decoder.decode(Line("bench", 0, pack(message).rstrip(b"\n")))
    samples = 0
    for at in range(0, len(stream), READ_BYTES):
        for raw in splitter.cut(stream[at : at + READ_BYTES]):
            samples += decoder.decode(Line("bench", at * 20_000, raw)) is not None
    if samples != LINES:
        raise ValueError(f"{samples} of {LINES} lines were decoded")
