"""Standard input, output and errors, whatever they are: closed, full, or of letters that lack some of ours."""

from __future__ import annotations

import codecs
import os
import sys
import unicodedata
from typing import TextIO

PLAIN = "hingeline-plain"
"""The name of our way with letters that an encoding lacks, and of ASCII that has it."""
LETTERS = str.maketrans(
    {
        "°": " deg",
        "±": "+-",
        "µ": "u",
        "×": "x",
        "·": "-",
        "…": "...",
        "−": "-",
        "–": "-",
        "—": "-",
        "→": "->",
        "←": "<-",
        "↑": "^",
        "↓": "v",
        "✓": "+",
        "≤": "<=",
        "≥": ">=",
        "≈": "~",
        "√": "sqrt ",
        "“": '"',
        "”": '"',
        "‘": "'",
        "’": "'",
        "\xa0": " ",
        "ł": "l",
        "Ł": "L",
        "ø": "o",
        "Ø": "O",
        "ß": "ss",
        **dict.fromkeys("█▀▄", "#"),
    }
)
"""What stands for the letters of ours that ASCII lacks."""
_terminals: list[int] = []
_lost: list[int] = []
"""Descriptors that led to a terminal, and those whose terminal is gone."""


def prepare_streams() -> None:
    """Let all three be there and take every letter.

    One that is closed leads nowhere; left closed, the next file that is opened would get its number, and what is
    told would go into that file.
    """
    while (descriptor := os.open(os.devnull, os.O_RDWR)) <= 2:
        os.set_inheritable(descriptor, True)
    os.close(descriptor)
    _terminals[:] = filter(os.isatty, range(3))
    codecs.register_error(PLAIN, _plain)
    codecs.register(lambda name: _ASCII if name.replace("_", "-") == PLAIN else None)
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if (stream := getattr(sys, name)) is None:
            setattr(sys, name, stream := open(os.devnull, mode, encoding="utf-8"))  # noqa: SIM115
        if mode == "w":
            # click writes UTF-8 where it is told of ASCII
            encoding = PLAIN if codecs.lookup(stream.encoding).name == "ascii" else None
            stream.reconfigure(encoding=encoding, errors=PLAIN)


def silence_lost_terminals() -> bool:
    """Let what goes to a terminal that is no more go nowhere; whether there is such a one."""
    lost = [descriptor for descriptor in _terminals if not os.isatty(descriptor)]
    for descriptor in lost:
        _terminals.remove(descriptor)
        nowhere = os.open(os.devnull, os.O_RDWR)
        os.dup2(nowhere, descriptor)
        os.close(nowhere)
        _lost.append(descriptor)
    return bool(_lost)


def can_encode(text: str, stream: TextIO) -> bool:
    """Whether a stream has all letters of a text."""
    try:
        text.encode(stream.encoding or "utf-8")
    except UnicodeEncodeError:
        return False
    return True


def fall_silent(*streams: TextIO) -> None:
    """Let what is still to be written to these streams go nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in streams:
        os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


def _plain(error: UnicodeError) -> tuple[str, int]:
    """Write what an encoding lacks by letters that it has: without accents, in signs of ASCII, or as `?`."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text = error.object[error.start : error.end].translate(LETTERS)
    bare = (letter for letter in unicodedata.normalize("NFKD", text) if not unicodedata.combining(letter))
    return "".join(letter if letter.isascii() else "?" for letter in bare), error.end


_INFO = codecs.lookup("ascii")
_ASCII = codecs.CodecInfo(
    _INFO.encode, _INFO.decode, _INFO.streamreader, _INFO.streamwriter, _INFO.incrementalencoder,
    _INFO.incrementaldecoder, name=PLAIN,
)  # fmt: skip
