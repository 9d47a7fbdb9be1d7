"""Two readers of one page, written apart, read every line alike."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.shared_protocol import second_reader
from tests.shared_protocol.test_golden import conversations, edges

from hingeline_protocol.line import LineError, seal, unseal
from hingeline_protocol.messages import TABLE, MessageError, pack, parse


def package_reads(line):
    """What the package of both ends makes of a line, in the second reader's form."""
    try:
        body = unseal(line)
        message = parse(body)
    except (LineError, MessageError):
        return None
    return (body.split(b" ")[0].decode(), *(bytes(f) if isinstance(f, bytearray) else f for f in message))


def test_the_checksum_has_the_published_check_value():
    """CRC-32/ISO-HDLC, check value of `123456789` (Williams, "A painless guide to CRC", parameters of CRC-32)."""
    assert second_reader.crc32(b"123456789") == 0xCBF43926


def test_the_page_names_every_message():
    assert second_reader.FIELDS.keys() | {"ok"} == set(TABLE)


@pytest.mark.parametrize(("_", "line"), conversations())
def test_golden_lines(_, line):
    assert second_reader.read(line) is not None
    assert second_reader.read(line) == package_reads(line)


@pytest.mark.parametrize("case", edges(), ids=lambda case: case["why"])
def test_edge_cases(case):
    line = case["line"] if "line" in case else seal(case["body"])
    assert second_reader.read(line) == package_reads(line)


FIELD = st.one_of(
    st.integers(-(2**32), 2**32).map(str), st.text("0123456789abcdef -+*~", max_size=12), st.just("0"), st.just("-0")
)


@given(st.sampled_from(sorted(TABLE)), st.lists(FIELD, max_size=12))
def test_any_line_of_a_known_verb(verb, fields):
    line = seal(" ".join([verb, *fields]).encode())
    assert second_reader.read(line) == package_reads(line)


def test_what_the_package_writes_the_second_reader_reads():
    for _, line in conversations():
        assert second_reader.read(pack(parse(unseal(line)))) == second_reader.read(line)
