"""The messages: a named tuple for each verb, and one table to pack and parse them.

A new message is a named tuple, its row in TABLE, and its row and an example in PROTOCOL.md.
"""

from binascii import hexlify, unhexlify
from collections import namedtuple

from hingeline_protocol.line import seal

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

PIECE_BYTES = 64
"""Most bytes of a stored calibration in one `put` or `piece`."""
STORED_BYTES = 8192
"""Most bytes of a stored calibration."""
TEXT_LIMIT = 200
"""Most characters of an `err` text: the line stays within LINE_LIMIT."""
NAME_LIMIT = 32
"""Most characters of a board's name."""
SEQUENCE_PERIOD = 1 << 16
"""A sensor's sequence number counts its lines modulo this."""
TICKS_PERIOD_US = 1 << 30
"""`ticks_us` counts modulo this (about 17.9 minutes)."""
_LOWEST, _HIGHEST = -0x80000000, 0x7FFFFFFF
"""An integer on the wire has 32 bits."""
NO_TEMPERATURE_CC = -32768
"""Sent if the chip has no thermometer, or has not read it yet."""

# Host to board. Each carries a request number that its answers repeat.
Hello = namedtuple("Hello", "request lowest highest")
Rate = namedtuple("Rate", "request lines_hz readings")
Start = namedtuple("Start", "request")
Stop = namedtuple("Stop", "request")
Status = namedtuple("Status", "request")
SelfTest = namedtuple("SelfTest", "request sensor")
Put = namedtuple("Put", "request sensor piece pieces crc data")
Get = namedtuple("Get", "request sensor piece")
Wifi = namedtuple("Wifi", "request port name password key")
Address = namedtuple("Address", "request")
Prove = namedtuple("Prove", "request nonce")
Challenge = namedtuple("Challenge", "request")
Login = namedtuple("Login", "request proof")
Identify = namedtuple("Identify", "request seconds")

# Board to host, in answer: any number of details, then exactly one Ok or Err.
Board = namedtuple("Board", "request protocol firmware board uid sensors")
About = namedtuple("About", "request reset watchdog name")
Sensor = namedtuple("Sensor", "request sensor chip bus address counts_per_g rate_hz filter_hz thermometer state")
Timing = namedtuple("Timing", "request sensor delay_us age_us fifo overflows")
State = namedtuple(
    "State", "request streaming lines_hz readings uptime_s lines late jitter_us jitter_worst_us dropped heap"
)
Pauses = namedtuple("Pauses", "request collections left_out")
Tested = namedtuple("Tested", "request sensor x y z x_trim y_trim z_trim")
Piece = namedtuple("Piece", "request sensor piece pieces crc data")
Reachable = namedtuple("Reachable", "request address port")
Proof = namedtuple("Proof", "request uid nonce proof")
Nonce = namedtuple("Nonce", "request uid nonce")
Ok = namedtuple("Ok", "request")
Err = namedtuple("Err", "request code text")

# Board to host, unasked.
Sample = namedtuple("Sample", "sensor sequence ticks_us readings x y z temperature_cc")
Fault = namedtuple("Fault", "sensor sequence ticks_us code number")

# verb: (type, kind of each field). i integer, w word, h bytes in hex, t text to the end of the line.
TABLE = {
    "hello": (Hello, "iii"),
    "rate": (Rate, "iii"),
    "start": (Start, "i"),
    "stop": (Stop, "i"),
    "status": (Status, "i"),
    "selftest": (SelfTest, "ii"),
    "put": (Put, "iiiiwh"),
    "get": (Get, "iii"),
    "wifi": (Wifi, "iihhh"),
    "address": (Address, "i"),
    "prove": (Prove, "ih"),
    "challenge": (Challenge, "i"),
    "login": (Login, "ih"),
    "identify": (Identify, "ii"),
    "board": (Board, "iiwwwi"),
    "about": (About, "iwwt"),
    "sensor": (Sensor, "iiwiiiiiww"),
    "timing": (Timing, "iiiiii"),
    "state": (State, "iiiiiiiiiii"),
    "pauses": (Pauses, "iii"),
    "tested": (Tested, "iiiiiiii"),
    "piece": (Piece, "iiiiwh"),
    "reachable": (Reachable, "iwi"),
    "proof": (Proof, "iwhh"),
    "nonce": (Nonce, "iwh"),
    "ok": (Ok, "i"),
    "err": (Err, "iwt"),
    "s": (Sample, "iiiiiiii"),
    "fault": (Fault, "iiiwi"),
}
VERBS = {message: verb for verb, (message, _) in TABLE.items()}

SAMPLE_FORMAT = b"s %d %d %d %d %d %d %d %d"
"""`SAMPLE_FORMAT % fields` is the body of a sample line: `pack` would be too slow for the stream."""


class MessageError(ValueError):
    """A sound line that is no message. `args` is (`verb` | `fields`, the request number or 0)."""


def pack(message: "tuple[Any, ...]") -> bytes:
    """Make the line of a message. A text is cut to TEXT_LIMIT, and `?` replaces unprintable characters."""
    verb = VERBS[type(message)]
    return seal(" ".join([verb] + [_write(k, v) for k, v in zip(TABLE[verb][1], message)]).encode())


def parse(body: bytes) -> "Any":
    """Read the message in the body of a line.

    Raises
    ------
    MessageError
        The verb is unknown, or the fields are not those of its table row.
    """
    if body.startswith(b"s "):
        return _parse_sample(body)
    if any(byte > 0x7F for byte in body):  # decode() alone is more lenient on MicroPython
        raise MessageError("verb", 0)
    words = body.decode().split(" ")
    if words[0] not in TABLE:
        raise MessageError("verb", _request(words))
    message, kinds = TABLE[words[0]]
    fields = words[1:]
    if kinds[-1] == "t" and len(fields) >= len(kinds):
        fields = fields[: len(kinds) - 1] + [" ".join(fields[len(kinds) - 1 :])]
    if len(fields) != len(kinds):
        raise MessageError("fields", _request(words))
    try:
        return message(*[_read(k, f) for k, f in zip(kinds, fields)])
    except ValueError:
        raise MessageError("fields", _request(words)) from None


def _parse_sample(body: bytes) -> Sample:
    # Thousands come each second. Packing it again checks the spelling and that no other field was there.
    try:
        sample = Sample(*map(int, body.split()[1:]))
    except (TypeError, ValueError):
        raise MessageError("fields", 0) from None
    if SAMPLE_FORMAT % sample != body or min(sample) < _LOWEST or max(sample) > _HIGHEST:
        raise MessageError("fields", 0)
    return sample


def _write(kind: str, value: "Any") -> str:
    if kind == "h":
        return hexlify(value).decode()
    if kind == "t":
        return "".join([c if " " <= c <= "~" else "?" for c in value[:TEXT_LIMIT]])
    return str(value)


def _read(kind: str, field: str) -> "Any":
    if kind == "i":
        # int() alone would also accept "+1", "1_0" and "007"; a number has one spelling on the wire.
        number = int(field)
        if str(number) != field or not _LOWEST <= number <= _HIGHEST:
            raise ValueError(field)
        return number
    if kind == "h":
        data = unhexlify(field)
        if hexlify(data).decode() != field:
            raise ValueError(field)
        return data
    fits = len(field) <= TEXT_LIMIT if kind == "t" else field
    if not fits or not all(" " <= c <= "~" for c in field):
        raise ValueError(field)
    return field


def _request(words: "list[str]") -> int:
    try:
        return int(_read("i", words[1]))
    except (IndexError, ValueError):
        return 0
