"""A run that is read many lines at once gives bit for bit what it gives record by record, however it was damaged."""

import lzma
import random
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.bench.growth import record

from hingeline.device.link.decoder import Line, SampleLines, sample_fields
from hingeline.device.link.replay import Replay
from hingeline.errors import HingelineError
from hingeline.storage import records
from hingeline.storage.records import Happening, read, read_fast
from hingeline_protocol.line import seal

REPLAYS = sorted((Path(__file__).parents[2] / "data" / "replays").glob("*.log.xz"))
SPELLINGS = [b"", b"0", b"-0", b"+1", b"007", b"1_0", b" 1", b"1.0", b"-1", b"4294967296", b"9" * 30, b"\xd9\xa1", b"-"]


def flat(items):
    """Return each record as a tuple: of a sample line its port, arrival and fields."""
    told = []
    for item in items:
        if isinstance(item, SampleLines):
            told += zip(item.ports, item.arrival_ns.tolist(), map(tuple, item.fields.tolist()), strict=True)
        elif isinstance(item, Line):
            told.append((item.port, item.arrival_ns, sample_fields(item.raw) or item.raw))
        else:
            told.append(item)
    return told


def outcome(do):
    """Return what comes of it, and what it says where it is refused."""
    told = []
    try:
        for each in do:
            told.append(each)
    except HingelineError as problem:
        return told, str(problem)
    return told, None


def same(content: bytes):
    """Hold both ways of reading a run against each other; return what was read."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "1-throws.log"
        path.write_bytes(content)
        (slow, refusal), (fast, fast_refusal) = outcome(read(path)), outcome(read_fast(path))
    assert fast_refusal == refusal
    assert flat(fast) == flat(slow)
    samples, others = (
        outcome(Replay(each for each in items if not isinstance(each, Happening))) for items in (slow, fast)
    )
    assert list(map(repr, others[0])) == list(map(repr, samples[0]))  # to the last bit of each number
    return fast


@pytest.mark.parametrize("path", REPLAYS, ids=lambda path: path.name)
def test_recorded_runs_come_out_alike_and_nearly_all_at_once(path):
    content = lzma.decompress(path.read_bytes())
    fast = same(content)
    at_once = sum(len(each.ports) for each in fast if isinstance(each, SampleLines))
    assert at_once > 0.99 * content.count(b" s ")


def spoil(rng, record):
    """Spoil a record of a line; what the recorder itself wrote in front of the line stays whole."""
    head = record.find(b" ", record.find(b" ", 2) + 1) + 1
    at = rng.randrange(head, len(record) - 1)
    flipped = bytes([rng.choice([byte for byte in range(256) if byte != ord("\n")])])
    return rng.choice(
        [
            record[:at] + flipped + record[at + 1 :],
            record[:at] + record[at + 1 :],
            record[:at] + b"\n",
            record + record,
            b"",
            record[:-1] + b"\r\n",
        ]
    )


@pytest.mark.parametrize("seed", range(12))
def test_damaged_lines_are_left_to_the_reader_of_records(seed, monkeypatch):
    """Bytes flipped, lost and doubled, lines lost, doubled and cut, in blocks that end anywhere."""
    monkeypatch.setattr(records, "_BLOCK_BYTES", 4096)
    rng = random.Random(seed)
    whole = lzma.decompress(REPLAYS[seed % len(REPLAYS)].read_bytes()).splitlines(keepends=True)[:3000]
    spoilt = [spoil(rng, each) if each.startswith(b"L ") and rng.random() < 0.1 else each for each in whole]
    fast = same(b"".join(spoilt) + b"L 12 torn s 0")
    assert sum(isinstance(each, Line) for each in fast) > 10


@given(st.integers(0, 7), st.sampled_from(SPELLINGS), st.integers(0, 300))
def test_every_spelling_of_a_number_that_is_not_its_own_is_treated_alike(field, spelling, readings):
    fields = [b"0", b"3", b"39504833", b"%d" % readings, b"6234", b"-5989", b"72063", b"2200"]
    fields[field] = spelling
    plain = b"L 4144947324283 /dev/tty%20A " + seal(b"s " + b" ".join(fields))
    same(b'E 1 {"kind": "run", "format": 2}\n' + plain + b"L 4144947324283 COM3 x\n")


@given(
    st.lists(st.sampled_from([b"L", b"s", b" ", b"\n", b"-", b"*", b"0", b"1", b"\xff", b"L 1 p s 0 1 2 3 4 5 6 7*"]))
)
def test_no_bytes_part_the_two_ways(pieces):
    same(b'E 1 {"kind": "run", "format": 2}\nL 1 p ' + b"".join(pieces) + b"\n")


@pytest.mark.parametrize("length", [999_998, 999_999, 1_000_000, 1_000_001])
@pytest.mark.parametrize("end", [b"", b"\n", b"\nL 1 p x\n"])
def test_a_record_that_is_too_long_is_refused_alike(length, end):
    same(b'E 1 {"kind": "run", "format": 2}\nL 1 p ' + b"x" * (length - 7) + end)


def test_lines_of_several_ports_that_arrive_together_stay_one_read(tmp_path):
    path = tmp_path / "8.log"
    record(path, sensors=8, minutes=1)
    same(path.read_bytes())
