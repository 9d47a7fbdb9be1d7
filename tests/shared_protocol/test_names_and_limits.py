"""What PROTOCOL.md says in words: a board's name on the network, what is signed at the login, its figures."""

import re
from pathlib import Path

import pytest

from hingeline_protocol import line, messages
from hingeline_protocol.login import BOARD, HOST, NONCE_BYTES, signed_text
from hingeline_protocol.names import host_name

PAGE = (Path(__file__).parents[2] / "shared_protocol" / "PROTOCOL.md").read_text(encoding="utf-8")
MINUS = "\N{MINUS SIGN}"
UID = "e661385283127a2b"


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("", "hingeline-127a2b"),
        ("Left wing", "hingeline-left-wing"),
        ("  Flap__2!  ", "hingeline-flap-2"),
        ("Höhe", "hingeline-h-he"),
        ("***", "hingeline-127a2b"),
        ("a" * 22, "hingeline-" + "a" * 22),
        ("a" * 23, "hingeline-" + "a" * 22),
        ("a" * 21 + " b", "hingeline-" + "a" * 21),
    ],
)
def test_a_boards_name_on_the_network_is_one_that_networks_take(name, expected):
    """At most 32 characters; letters, digits and hyphens between them: RFC 1123, section 2.1."""
    assert host_name(name, UID) == expected
    assert re.fullmatch(r"[a-z0-9]([a-z0-9-]*[a-z0-9])?", expected)
    assert len(expected) <= 32


def test_what_is_signed_names_the_end_the_connection_and_the_board():
    host_nonce, board_nonce = bytes(range(16)), bytes(range(16, 32))
    assert signed_text(BOARD, host_nonce, board_nonce, UID) == (
        b"hingeline login board " + bytes(range(32)) + UID.encode()
    )
    assert signed_text(HOST, host_nonce, board_nonce, UID).startswith(b"hingeline login host \x00\x01")


def test_the_figures_are_those_of_the_page():
    """And each limit holds, and no more: a line of that length passes, one of a byte more is refused."""
    assert f"at most {line.LINE_LIMIT} bytes, LF included" in PAGE
    assert f"nonce: {NONCE_BYTES} random bytes" in PAGE
    assert f"at most {messages.STORED_BYTES} bytes" in PAGE
    assert f"{messages.PIECE_BYTES} bytes each" in PAGE
    assert f"at most {messages.NAME_LIMIT} ch" in PAGE
    assert f"number of this sensor's line, modulo {messages.SEQUENCE_PERIOD}" in PAGE
    assert (
        f"temperature_cc: hundredths of °C, read about once a second, {MINUS}{-messages.NO_TEMPERATURE_CC} if" in PAGE
    )
    longest = line.seal(b"x" * (256 - 10))
    assert len(longest) == 256
    assert line.unseal(longest) == b"x" * 246
    with pytest.raises(line.LineError, match="long"):
        line.unseal(line.seal(b"x" * 247))
    with pytest.raises(line.LineError, match="short"):
        line.unseal(b"*00000000\n")
    assert line.unseal(line.seal(b"x")) == b"x"


@pytest.mark.parametrize(("byte", "refused_as"), [(0x7F, ("fields", 3)), (0x80, ("verb", 0))])
def test_what_is_no_ascii_is_no_message_and_what_is_not_printable_is_no_text(byte, refused_as):
    """ASCII ends with DEL, 7F, which is ASCII and not printable (RFC 20): its request can be answered."""
    with pytest.raises(messages.MessageError) as refused:
        messages.parse(b"err 3 range a" + bytes([byte]))
    assert refused.value.args == refused_as
