"""The golden vectors on real MicroPython, and properties of the package that need CPython's libraries."""

import subprocess
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st
from tests.unix_port import micropython

from hingeline_protocol.line import LINE_LIMIT, LineError, seal, unseal
from hingeline_protocol.messages import TABLE, TEXT_LIMIT, MessageError, pack, parse

ROOT = Path(__file__).parents[2]
GOLDEN = Path(__file__).with_name("test_golden.py")

WORD = st.text(st.characters(min_codepoint=0x21, max_codepoint=0x7E), min_size=1, max_size=16)
KINDS = {
    "i": st.integers(-(2**31), 2**31 - 1),
    "w": WORD,
    "h": st.binary(max_size=64),
    "t": st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=TEXT_LIMIT),
}
MESSAGES = st.sampled_from(sorted(TABLE)).flatmap(
    lambda verb: st.tuples(*[KINDS[kind] for kind in TABLE[verb][1]]).map(lambda fields: TABLE[verb][0](*fields))
)


def test_the_golden_vectors_hold_on_micropython() -> None:
    run = subprocess.run(
        [micropython(), GOLDEN],
        env={"MICROPYPATH": f"{ROOT / 'shared_protocol'}:.frozen"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (run.returncode, run.stderr) == (0, "")
    assert int(run.stdout) == GOLDEN.read_text().count("\ndef test_")


@given(MESSAGES)
def test_a_message_survives_the_wire(message: tuple[object, ...]) -> None:
    line = pack(message)
    assert line.endswith(b"\n")
    assert parse(unseal(line)) == message


@given(st.binary(max_size=LINE_LIMIT + 8))
def test_no_bytes_raise_anything_but_their_own_errors(raw: bytes) -> None:
    for attempt in (raw, seal(raw), seal(b"s " + raw), seal(b"ok " + raw)):
        try:
            message = parse(unseal(attempt))
        except (LineError, MessageError):
            continue
        assert pack(message).rstrip(b"\n") == attempt.rstrip(b"\r\n")
