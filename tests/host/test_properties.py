"""Sessions and sealed files from anywhere: what was written is read, what was spoilt is refused as documented."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.spoilt import FEW, JSON, refused_as, spoilt_bytes, spoilt_json

from hingeline.device.link.decoder import Line
from hingeline.device.link.replay import Replay
from hingeline.device.samples import Sample, SensorFault
from hingeline.errors import HingelineError, NotStored, StoreError
from hingeline.report.results import read_recorded
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import Happening, read
from hingeline.storage.sealed import seal, unseal
from hingeline.storage.session_store import RecordedStore
from hingeline.storage.sessions import OLD_FILE as FILE
from hingeline.storage.sessions import read_run
from hingeline_protocol.line import seal as seal_line
from hingeline_protocol.messages import Board, Fault, Sensor, pack
from hingeline_protocol.messages import Sample as SampleLine

VISITS = Path(__file__).parents[1] / "data" / "visits" / "sessions" / "Moss-Lantern"
SESSION = (VISITS / "2026-05-17_10-12-24" / FILE).read_bytes()
SHORT = b"".join(SESSION.splitlines(keepends=True)[:12])
EVENTS = [
    record.fields | {"kind": record.kind}
    for record in read(VISITS / "2026-05-17_10-12-24" / FILE)
    if isinstance(record, Happening)
]
FINITE = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=5,
)
lines = st.builds(
    Line,
    st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12),
    st.integers(0, 2**63 - 1),
    st.binary(max_size=60).filter(lambda raw: b"\n" not in raw and not raw.endswith(b"\r")),
)
events = st.tuples(
    st.text(st.characters(categories=["L"]), min_size=1, max_size=9).filter(
        lambda kind: kind not in ("run", "session")
    ),
    st.dictionaries(
        st.text(min_size=1, max_size=6).filter(lambda key: key not in ("kind", "self")), FINITE, max_size=3
    ),
)


def use(path: Path) -> None:
    """Read a run in every way there is."""
    records = list(read(path))
    replay = Replay(record for record in records if isinstance(record, Line))
    assert all(isinstance(event, Sample | SensorFault) for event in replay)
    store = RecordedStore(path, [record for record in records if isinstance(record, Happening)])
    with pytest.raises(NotStored):
        store.load("calibration", "no such sensor")
    read_recorded(read_run(path))


def written(content: bytes) -> tempfile.TemporaryDirectory[str]:
    folder = tempfile.TemporaryDirectory()
    (Path(folder.name) / FILE).write_bytes(content)
    return folder


@FEW
@given(st.lists(lines | events, max_size=8))
def test_what_was_recorded_is_read(told):
    with tempfile.TemporaryDirectory() as folder:
        with Recorder(Path(folder) / FILE) as recorder:
            for one in told:
                if isinstance(one, Line):
                    recorder.lines([one])
                else:
                    recorder.event(one[0], **one[1])
        _, *records = read(Path(folder) / FILE)
    assert [one if isinstance(one, Line) else (one.kind, one.fields) for one in records] == told


@FEW
@given(spoilt_bytes(SHORT))
def test_a_spoilt_session_is_read_or_refused_as_documented(content):
    with written(content) as folder, refused_as(StoreError):
        use(Path(folder) / FILE)


@FEW
@given(spoilt_json(EVENTS))
def test_a_session_of_spoilt_events_is_read_or_refused_as_documented(told):
    rows = told if isinstance(told, list) else [told]
    content = b"".join(b"E %d %s\n" % (at, json.dumps(row).encode()) for at, row in enumerate(rows))
    with written(content) as folder, refused_as(StoreError):
        use(Path(folder) / FILE)


numbers = st.integers(-(2**31), 2**31 - 1) | st.integers(0, 300)
words = st.text(st.characters(min_codepoint=0x21, max_codepoint=0x7E), min_size=1, max_size=8)
board_lines = (
    st.builds(Board, numbers, numbers, words, words, words, numbers).map(pack)
    | st.builds(Sensor, numbers, st.integers(0, 1), words, *[numbers] * 5, words, words).map(pack)
    | st.builds(Fault, st.integers(0, 1), numbers, numbers, words, numbers).map(pack)
    | st.builds(SampleLine, st.integers(0, 1), *[numbers] * 7).map(pack)
    | st.binary(max_size=250).map(seal_line)
    | st.binary(max_size=120).map(lambda body: seal_line(b"s 0 " + body))
).map(lambda line: line.rstrip(b"\n"))


@given(st.lists(st.tuples(st.integers(-(2**63), 2**63), board_lines), max_size=12))
def test_whatever_boards_say_a_replay_gives_events_alone(told):
    replay = Replay(Line("wire", arrival_ns, raw) for arrival_ns, raw in told)
    assert all(isinstance(event, Sample | SensorFault) for event in replay)
    assert sum(counts.lines for counts in replay.counts.values()) == sum(bool(raw.rstrip(b"\r")) for _, raw in told)


@given(st.text(), st.text(), st.dictionaries(st.text(), FINITE, max_size=4), st.none() | st.just(1))
def test_what_was_sealed_is_unsealed(kind, key, payload, indent):
    assert unseal(seal(kind, key, payload, indent=indent), "here", kind, key) == payload


@given(spoilt_bytes(seal("calibration", "a1-104", {"n": [1, 2.5], "text": "x"}, indent=1)) | st.binary(max_size=60))
def test_a_spoilt_seal_is_refused_as_documented(data):
    with refused_as(StoreError):
        assert unseal(data, "here", "calibration", "a1-104") == {"n": [1, 2.5], "text": "x"}


@given(JSON)
def test_sealed_by_another_hand_it_is_a_payload_or_refused_as_documented(value):
    data = json.dumps(value).encode()
    with pytest.raises(HingelineError):
        unseal(data, "here", "calibration")
