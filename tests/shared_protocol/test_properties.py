"""Both ends make the same of any line: CPython and real MicroPython side by side, one process for all examples."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.shared_protocol.board_end import outcome
from tests.shared_protocol.test_both_ends import MESSAGES
from tests.spoilt import spoilt_bytes
from tests.unix_port import micropython

from hingeline_protocol.line import LINE_LIMIT, LineError, seal, unseal
from hingeline_protocol.messages import TABLE, pack

ROOT = Path(__file__).parents[2]
VERB = st.sampled_from([verb.encode() for verb in TABLE])
FIELD = st.sampled_from(
    [
        b"0",
        b"-0",
        b"007",
        b"+1",
        b"1_0",
        b" ",
        b"",
        b"-1",
        b"65536",
        b"4294967296",
        b"ff",
        b"FF",
        b"f",
        b"\xc3\xa9",
    ]
) | st.binary(max_size=6)
BODIES = st.tuples(VERB, st.lists(FIELD, max_size=10)).map(lambda words: b" ".join([words[0], *words[1]]))


@pytest.fixture(scope="module")
def board() -> Iterator[subprocess.Popen[str]]:
    """The board's end, on MicroPython."""
    with subprocess.Popen(
        [micropython(), Path(__file__).with_name("board_end.py")],
        env={"MICROPYPATH": f"{ROOT / 'shared_protocol'}:.frozen"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        yield process
        process.stdin.close()


def on_board(board: subprocess.Popen[str], raw: bytes) -> list[str]:
    assert board.stdin is not None
    assert board.stdout is not None
    board.stdin.write(raw.hex() + "\n")
    board.stdin.flush()
    answer: list[str] = json.loads(board.stdout.readline())
    return answer


@given(MESSAGES)
def test_every_message_is_read_alike_and_packed_to_the_same_bytes(board, message):
    answer = on_board(board, pack(message))
    assert answer == outcome(pack(message))
    assert bytes.fromhex(answer[1]) == pack(message)


@given(st.binary(max_size=LINE_LIMIT + 8) | MESSAGES.map(pack).flatmap(spoilt_bytes))
def test_spoilt_lines_are_refused_alike(board, raw):
    assert on_board(board, raw) == outcome(raw)


@given(BODIES | st.binary(max_size=80))
def test_sound_lines_of_any_content_are_read_or_refused_alike(board, body):
    assert on_board(board, seal(body)) == outcome(seal(body))


@given(MESSAGES.map(pack).flatmap(spoilt_bytes))
def test_no_spoilt_line_is_unsealed_unless_it_is_whole(raw):
    try:
        body = unseal(raw)
    except LineError:
        return
    assert seal(body) == raw.rstrip(b"\r\n") + b"\n"
