"""The golden vectors, read by this one file on CPython (under pytest) and on MicroPython (as a script).

They are the conversations of PROTOCOL.md and the edge cases of tests/data/protocol_edges.json, among these the
published check value of CRC-32: CBF43926 for `123456789`.
"""

import json
import sys

from hingeline_protocol import PROTOCOL
from hingeline_protocol.line import LINE_LIMIT, LineError, seal, unseal
from hingeline_protocol.messages import (
    SAMPLE_FORMAT,
    SEQUENCE_PERIOD,
    TABLE,
    TEXT_LIMIT,
    TICKS_PERIOD_US,
    Err,
    MessageError,
    Sample,
    pack,
    parse,
)

ROOT = __file__.rsplit("tests", 1)[0]


def conversations():
    """The lines of all golden blocks of PROTOCOL.md: (who speaks, line)."""
    lines, inside = [], False
    with open(ROOT + "shared_protocol/PROTOCOL.md") as page:
        for row in page:
            if row.startswith("```"):
                inside = row == "```golden\n"
            elif inside:
                assert row[:2] in ("> ", "< ")
                lines.append((row[0], row[2:].encode()))
    return lines


def edges():
    """The edge cases, texts as bytes."""
    with open(ROOT + "tests/data/protocol_edges.json") as file:
        cases = json.load(file)
    for case in cases:
        for key in ("line", "body"):
            if key in case:
                case[key] = bytes([ord(character) for character in case[key]])
    return cases


def outcome(function, *arguments):
    """What a function returns, or the list of arguments of its error."""
    try:
        return function(*arguments)
    except (LineError, MessageError) as error:
        return list(error.args)


def test_each_golden_line_parses_and_packs_to_the_same_bytes():
    lines = conversations()
    assert len(lines) > 30
    for _, line in lines:
        assert pack(parse(unseal(line))) == line, line


def test_the_golden_lines_show_every_message():
    shown = {unseal(line).split(b" ")[0].decode() for _, line in conversations()}
    assert shown == set(TABLE)


def test_requests_come_from_the_host_and_answers_from_the_board():
    requests = ["hello", "rate", "start", "stop", "status", "selftest", "put", "get"]
    requests += ["wifi", "address", "prove", "challenge", "login", "identify"]
    for speaker, line in conversations():
        assert (unseal(line).split(b" ")[0].decode() in requests) == (speaker == ">"), line


FIRST_RELEASE = {
    "hello": "iii", "rate": "iii", "start": "i", "stop": "i", "status": "i", "selftest": "ii", "put": "iiiiwh",
    "get": "iii", "wifi": "iihhh", "address": "i", "challenge": "i", "login": "ih", "board": "iiwwwi", "about": "iwwt",
    "sensor": "iiwiiiiiww", "state": "iiiiiiiiiii", "tested": "iiiiiiii", "piece": "iiiiwh", "reachable": "iwi",
    "nonce": "iwh", "ok": "i", "err": "iwt", "s": "iiiiiiii", "fault": "iiiwi",
}  # fmt: skip
"""The messages of protocol 1 as boards of the first release speak them, by verb: kinds of their fields."""


def test_boards_and_hosts_of_the_first_release_are_understood():
    """A message keeps its fields as long as the protocol keeps its number; new ones are skipped by those."""
    assert PROTOCOL == 1
    assert {verb: kinds for verb, (_, kinds) in TABLE.items() if verb in FIRST_RELEASE} == FIRST_RELEASE


def test_the_page_is_of_the_protocol_spoken():
    with open(ROOT + "shared_protocol/PROTOCOL.md") as page:
        assert page.readline() == f"# Protocol {PROTOCOL}\n"


def test_counters_wrap_where_the_page_says():
    with open(ROOT + "shared_protocol/PROTOCOL.md") as page:
        text = page.read()
    assert "modulo 65536" in text
    assert SEQUENCE_PERIOD == 65536
    assert "modulo 2\u00b3\u2070" in text
    assert TICKS_PERIOD_US == 1073741824


def test_edge_cases():
    for case in edges():
        if "line" in case:
            assert outcome(unseal, case["line"]) == case.get("error", case.get("body")), case["why"]
        elif "error" in case:
            assert outcome(parse, case["body"]) == case["error"], case["why"]
        else:
            assert list(parse(case["body"])) == case["fields"], case["why"]
            assert seal(case["body"]) == pack(parse(case["body"])), case["why"]


def test_a_sample_packs_alike_by_format_and_by_table():
    sample = Sample(3, 65535, 1073741823, 200, -102400000, 0, 1, -32768)
    assert seal(SAMPLE_FORMAT % sample) == pack(sample)


def test_the_longest_line_is_taken_and_one_byte_more_is_not():
    body = b"x" * (LINE_LIMIT - 10)
    assert len(seal(body)) == LINE_LIMIT
    assert unseal(seal(body)) == body
    assert outcome(unseal, seal(body + b"x")) == ["long"]


def test_a_text_is_cut_and_made_printable():
    line = pack(Err(65535, "unsupported", "caf\u00e9\n" + "x" * 300))
    assert len(line) <= LINE_LIMIT
    text = parse(unseal(line)).text
    assert text == "caf??" + "x" * (TEXT_LIMIT - 5)


def test_every_line_with_one_bit_wrong_is_refused():
    line = conversations()[1][1].rstrip(b"\n")
    for at in range(len(line)):
        for bit in range(8):
            bad = bytearray(line)
            bad[at] ^= 1 << bit
            assert outcome(unseal, bytes(bad)) == ["checksum"], (at, bit)


if __name__ == "__main__" and sys.implementation.name == "micropython":
    tests = [name for name in globals() if name.startswith("test_")]
    for name in tests:
        globals()[name]()
    print(len(tests))
