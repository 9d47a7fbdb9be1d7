"""The records of a run as they stand in its file: their times, the words of format 1, and what is torn."""

import json

import pytest

from hingeline.errors import DamagedFile, NewerFile, NotStored
from hingeline.storage.records import MOST_BYTES, Happening, happenings, length_s, lines, read

BEGINS = {"kind": "run", "format": 2}


def record(time_ns, fields):
    return b"E %d %s\n" % (time_ns, json.dumps(fields).encode())


@pytest.fixture
def file(tmp_path):
    """Write the file of a run."""

    def write(*records):
        path = tmp_path / "run.log"
        path.write_bytes(b"".join(records))
        return path

    return write


def test_times_are_of_63_bits_and_no_longer(file):
    """The monotonic clock counts in 63 bits: 9 223 372 036 854 775 807 ns, 19 digits."""
    most = (1 << 63) - 1
    (event,) = read(file(record(most, BEGINS)))
    assert event == Happening(most, "run", {"format": 2})
    with pytest.raises(DamagedFile, match="line 2 is no record of a run"):
        list(read(file(record(0, BEGINS), record(10**19, {"kind": "note"}))))


@pytest.mark.parametrize(
    ("records", "expected_s"),
    [
        ([record(5, BEGINS)], 0.0),
        ([record(1_000_000_000, BEGINS), b"L 3500000000 a raw\n"], 2.5),
        ([record(1_000_000_000, BEGINS), b"L 3500000000 a raw\n", b"L 9000000000 a to"], 2.5),  # torn
        ([record(1_000_000_000, BEGINS), record(2_000_000_000, {"kind": "a"}), b"L 4000000000 a raw\n"], 3.0),
        ([record(3_000_000_000, BEGINS), record(1, {"kind": "a"})], 0.0),  # another clock
        ([b"no record\n"], 0.0),
        ([b"no record"], 0.0),
    ],
)
def test_a_run_is_as_long_as_its_whole_records(file, records, expected_s):
    assert length_s(file(*records)) == expected_s


def test_a_run_that_is_not_there_or_empty_has_no_length(tmp_path, file):
    assert length_s(tmp_path / "nowhere") == 0.0
    assert length_s(file()) == 0.0


@pytest.mark.parametrize(("form", "verdict"), [(1, "WITHIN"), (2, "HOLD")])
def test_words_of_format_1_are_renewed_and_those_of_format_2_are_left(file, form, verdict):
    """Format 1 called a throw within its tolerance HOLD."""
    throw = {"kind": "throw", "surface": "flap", "mode": "n", "command": "up", "judgements": [{"verdict": "HOLD"}]}
    _, event = read(file(record(0, {**BEGINS, "format": form}), record(1, throw)))
    assert event.fields["judgements"][0]["verdict"] == verdict


def test_a_run_without_its_beginning_is_of_format_1(file):
    throw = {"kind": "throw", "surface": "flap", "mode": "n", "command": "up", "judgements": [{"verdict": "HOLD"}]}
    (event,) = read(file(record(1, throw)))
    assert event.fields["judgements"][0]["verdict"] == "WITHIN"


def test_a_later_format_is_named(file):
    with pytest.raises(NewerFile, match="line 1"):
        list(read(file(record(0, {**BEGINS, "format": 3}))))


def test_events_and_lines_are_read_apart(file):
    path = file(record(0, BEGINS), b"L 5 port%20a s 1 2 3\n", record(7, {"kind": "note"}))
    assert [event.kind for event in happenings(path)] == ["run", "note"]
    (line,) = lines(path)
    assert (line.port, line.arrival_ns, line.raw) == ("port a", 5, b"s 1 2 3")


@pytest.mark.parametrize(
    "bad",
    [
        b"X 1 {\"kind\": \"a\"}\n",
        b"E 1 {\"kind\": 5}\n",
        b"E 1 []\n",
        b"E 1 {}\n",
        b"E 1\n",
        b"E x {\"kind\": \"a\"}\n",
        b"E 1 {\"kind\": \"a\", \"b\": NaN}\n",
        b"E 1 {\"kind\": \"run\", \"format\": \"2\"}\n",
        b"L 5 port\n",
        b"\n",
    ],
)  # fmt: skip
def test_anything_else_is_damaged(file, bad):
    with pytest.raises(DamagedFile, match="line 2"):
        list(read(file(record(0, BEGINS), bad)))


def test_there_is_no_run_where_there_is_no_file(tmp_path):
    with pytest.raises(NotStored, match="There is no run at"):
        list(happenings(tmp_path / "1-throws.log"))


def test_a_run_is_kept_on_any_disk():
    """FAT32 keeps no file of 2³² bytes (Microsoft's FAT specification: its size has 32 bits)."""
    assert MOST_BYTES < 1 << 32
