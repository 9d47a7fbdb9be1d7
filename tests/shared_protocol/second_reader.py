"""A reader of the wire written from PROTOCOL.md alone: it takes the fields from the page's own tables.

It shares nothing with `hingeline_protocol`: the checksum is CRC-32 bit by bit (ITU-T V.42, 8.1.1.6.2; the reflected
polynomial EDB88320), the spellings are the page's ABNF as regular expressions.
"""

import re
from pathlib import Path

PAGE = Path(__file__).parents[2] / "shared_protocol/PROTOCOL.md"
SPELLED = {"i": r"0|-?[1-9][0-9]*", "w": r"[!-~]+", "h": r"(?:[0-9a-f]{2})*", "t": r"[ -~]{0,200}"}
ROW = re.compile(r"^\| `([a-z]+)` \| ((?:\w+ [iwht](?:, )?)+) \|", re.MULTILINE)
FIELDS = {verb: re.findall(r"\w+ ([iwht])", fields) for verb, fields in ROW.findall(PAGE.read_text(encoding="utf-8"))}
LINES = {
    verb: re.compile(" ".join([verb, *(f"({SPELLED[kind]})" for kind in kinds)])) for verb, kinds in FIELDS.items()
}


def crc32(data: bytes) -> int:
    remainder = 0xFFFFFFFF
    for byte in data:
        remainder ^= byte
        for _ in range(8):
            remainder = remainder >> 1 ^ (0xEDB88320 if remainder & 1 else 0)
    return remainder ^ 0xFFFFFFFF


def read(line: bytes) -> tuple | None:
    """The verb and fields of a line, or None where the page does not allow the line."""
    body, star, checksum = line.removesuffix(b"\n").removesuffix(b"\r").rpartition(b"*")
    if not star or len(line) > 256 or checksum != f"{crc32(body):08X}".encode():
        return None
    text = body.decode("latin-1")
    verb = text.partition(" ")[0]
    fields = LINES[verb].fullmatch(text) if verb in LINES else None
    if not fields:
        return None
    convert = {"i": int, "w": str, "h": bytes.fromhex, "t": str}
    values = [convert[kind](field) for kind, field in zip(FIELDS[verb], fields.groups(), strict=True)]
    return None if any(abs(value + 0.5) > 2**31 for value in values if isinstance(value, int)) else (verb, *values)
