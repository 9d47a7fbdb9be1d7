"""The bounds of every field, typed from PROTOCOL.md: what is on a bound is taken, what is beyond is not."""

import pytest

from hingeline.device.link.devices import DEVICES, VENDORS
from hingeline.device.link.limits import is_allowed
from hingeline_protocol import messages as m

MOST = 2**31 - 1
SOUND = (
    m.Sample(0, 0, 0, 4, 0, 0, 16384, 2200),
    m.Fault(0, 0, 0, "lost", 5),
    m.Board(1, 1, "0.1.0", "pico", "e6614103e7", 2),
    m.Sensor(1, 0, "mpu6050", 0, 0x68, 16384, 200, 44, "absolute", "ok"),
    m.State(1, 1, 50, 4, 10, 500, 0, 12, 90, 0, 100_000),
    m.Pauses(1, 3, 0),
    m.Piece(1, 0, 0, 1, "0A1B2C3D", b"x"),
    m.Reachable(1, "192.0.2.7", 2323),
    m.Nonce(1, "e6614103e7", bytes(16)),
    m.Proof(1, "e6614103e7", bytes(16), bytes(32)),
    m.Tested(1, 0, -500, 500, 700, 0, 0, 0),
    m.Ok(1),
)
BOUNDS = {
    "request": (0, 65535),  # "1 to 65535"; 0 is what nobody asked for
    "sequence": (0, 65535),  # counts modulo 65536
    "ticks_us": (0, 2**30 - 1),  # counts modulo 2³⁰
    "readings": (1, 200),  # "a sensor gives at most 200 readings a second"
    "lines_hz": (1, 200),
    "temperature_cc": (-32768, 32767),  # 16 bits
    "address": (0, 127),  # 7 bits (NXP UM10204)
    "counts_per_g": (1, MOST),
    "rate_hz": (1, MOST),
    "streaming": (0, 1),
    "piece": (0, 127),  # 8192 bytes in pieces of 64
    "pieces": (1, 128),
    "port": (0, 65535),  # 16 bits (RFC 9293)
    "protocol": (1, MOST),
    **dict.fromkeys(("sensor", "sensors", "bus", "filter_hz", "uptime_s", "lines", "late", "dropped"), (0, MOST)),
    **dict.fromkeys(("heap", "collections", "left_out", "jitter_us", "jitter_worst_us"), (0, MOST)),
    **dict.fromkeys(("x_trim", "y_trim", "z_trim"), (0, MOST)),
}
WORDS = {
    "uid": (["e", "0" * 64], ["", "E6", "0" * 65, "g"]),
    "thermometer": (["absolute", "relative", "none"], ["warm", ""]),
    "state": (["ok", "absent", "identity", "setup"], ["fine", "OK"]),
    "crc": (["0A1B2C3D"], ["0a1b2c3d", "0A1B2C3", "0A1B2C3D4"]),
    "address": (["192.0.2.7", "0.0.0.0"], ["192.0.2", "kestrel", "192.0.2.1234", ""]),
    "data": ([b"x", bytes(64)], [b"", bytes(65)]),
    "nonce": ([bytes(16)], [bytes(15), bytes(17)]),
    "proof": ([bytes(32)], [bytes(31), bytes(33)]),
}


def numbers():
    for message in SOUND:
        for name in message._fields:
            if name in BOUNDS and isinstance(getattr(message, name), int):
                yield pytest.param(message, name, id=f"{type(message).__name__} {name}")


@pytest.mark.parametrize("message", SOUND, ids=lambda message: type(message).__name__)
def test_what_boards_send_is_taken(message):
    assert is_allowed(message)


@pytest.mark.parametrize(("message", "name"), [*numbers()])
def test_a_number_keeps_its_bounds(message, name):
    least, most = BOUNDS[name]
    roomy = {"pieces": 128} if name == "piece" else {"piece": 0} if name == "pieces" else {}
    for value, is_taken in ((least, True), (most, True), (least - 1, False), (most + 1, False)):
        assert is_allowed(message._replace(**{**roomy, name: value})) is is_taken


@pytest.mark.parametrize("name", WORDS)
def test_a_word_is_one_of_its_kind_and_bytes_are_as_many_as_they_should_be(name):
    holders = [
        message for message in SOUND if name in message._fields and isinstance(getattr(message, name), str | bytes)
    ]
    assert holders
    for message in holders:
        for values, is_taken in zip(WORDS[name], (True, False), strict=True):
            for value in values:
                assert is_allowed(message._replace(**{name: value})) is is_taken, (message, value)


def test_a_fault_is_a_loss_or_a_return_and_a_piece_is_one_of_its_pieces():
    fault, piece = SOUND[1], SOUND[6]
    assert is_allowed(fault._replace(code="back"))
    assert not is_allowed(fault._replace(code="tired"))
    assert is_allowed(piece._replace(piece=2, pieces=3))
    assert not is_allowed(piece._replace(piece=3, pieces=3))


def test_boards_are_known_by_the_identities_that_their_makers_registered():
    """Of USB; from memory, as pyserial and Linux's usb.ids list them."""
    assert {f"{vendor:04x}:{product:04x}" for vendor, product in DEVICES} == {
        "2e8a:0003",  # Raspberry Pi: RP2040 boot
        "2e8a:0005",  # MicroPython
        "2e8a:000a",  # its own development kit
        "2e8a:000f",  # RP2350 boot
        "303a:1001",  # Espressif: USB JTAG and serial
        "303a:4001",
        "10c4:ea60",  # Silicon Labs CP210x
        "1a86:7523",  # WCH CH340
        "1a86:55d3",  # CH343
        "1a86:55d4",  # CH9102
        "0403:6001",  # FTDI FT232R
        "0403:6015",  # FT231X
        "f055:9800",  # MicroPython's own
    }
    assert {f"{vendor:04x}" for vendor in VENDORS} == {"2e8a", "303a", "10c4", "1a86", "0403", "f055"}
