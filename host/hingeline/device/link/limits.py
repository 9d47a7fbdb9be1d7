"""What PROTOCOL.md allows in each field of a line: a board, or what pretends to be one, is believed no further."""

from __future__ import annotations

import re
from typing import Any

from hingeline_protocol.messages import PIECE_BYTES, SEQUENCE_PERIOD, STORED_BYTES, TICKS_PERIOD_US, Fault, Piece

READINGS = 200
"""Most readings of a sensor in a second, and so in a line."""
_PIECES = STORED_BYTES // PIECE_BYTES
_COUNT = range(1 << 31)
_NUMBERS = {
    "request": range(1 << 16),
    "sequence": range(SEQUENCE_PERIOD),
    "ticks_us": range(TICKS_PERIOD_US),
    "readings": range(1, READINGS + 1),
    "lines_hz": range(1, READINGS + 1),
    "temperature_cc": range(-32768, 32768),
    "address": range(128),
    "counts_per_g": range(1, 1 << 31),
    "rate_hz": range(1, 1 << 31),
    "streaming": range(2),
    "piece": range(_PIECES),
    "pieces": range(1, _PIECES + 1),
    "port": range(1 << 16),
    "protocol": range(1, 1 << 31),
    **dict.fromkeys(("sensor", "sensors", "bus", "filter_hz", "uptime_s", "lines", "late", "dropped", "heap"), _COUNT),
    **dict.fromkeys(("collections", "left_out"), _COUNT),
    **dict.fromkeys(("jitter_us", "jitter_worst_us", "x_trim", "y_trim", "z_trim"), _COUNT),
}
"""By the name of a field; the others may be any number of 32 bits, which `parse` sees to."""
_SIZES = {"data": range(1, PIECE_BYTES + 1), "nonce": range(16, 17), "proof": range(32, 33)}
_WORDS = {
    "uid": r"[0-9a-f]{1,64}",
    "thermometer": "absolute|relative|none",
    "state": "ok|absent|identity|setup",
    "crc": "[0-9A-F]{8}",
    "address": r"\d{1,3}(\.\d{1,3}){3}",
}


def is_allowed(message: Any) -> bool:
    """Whether each field of a message that `parse` has read is one that the protocol allows."""
    if isinstance(message, Fault) and message.code not in ("lost", "back"):
        return False
    if isinstance(message, Piece) and message.piece >= message.pieces:
        return False
    return all(_fits(name, value) for name, value in message._asdict().items())


def _fits(name: str, value: int | str | bytes) -> bool:
    if isinstance(value, int):
        return name not in _NUMBERS or value in _NUMBERS[name]
    if isinstance(value, bytes):
        return name not in _SIZES or len(value) in _SIZES[name]
    return name not in _WORDS or re.fullmatch(_WORDS[name], value) is not None
