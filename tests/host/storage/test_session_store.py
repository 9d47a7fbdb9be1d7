"""What a visit loaded from the store is in its session, load by load, and a replay needs no store."""

import pytest

from hingeline.errors import DamagedFile, NotStored
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import read
from hingeline.storage.session_store import RecordedStore, WitnessedStore
from hingeline.storage.store import Store


@pytest.fixture
def path(tmp_path):
    return tmp_path / "1-throws.log"


def test_loads_come_again_in_their_order(tmp_path, path):
    with Recorder(path) as recorder:
        store = WitnessedStore(recorder, tmp_path)
        with pytest.raises(NotStored):
            store.load("settings", "sides")
        for value in (0.1 + 0.2, 1e-300):
            store.save("settings", "sides", {"left": value})
            assert store.load("settings", "sides") == {"left": value}
    again = RecordedStore(path, list(read(path)))
    with pytest.raises(NotStored):
        again.load("settings", "sides")
    assert again.load("settings", "sides") == {"left": 0.1 + 0.2}
    assert again.load("settings", "sides") == {"left": 1e-300}
    with pytest.raises(NotStored, match="used no settings of sides"):
        again.load("settings", "sides")


def test_a_replay_saves_nothing(tmp_path, path):
    RecordedStore(path, []).save("settings", "sides", {"left": 1})
    assert Store(tmp_path).history("settings", "sides") == ()
    assert list(tmp_path.iterdir()) == []


def test_an_event_of_a_load_that_is_none_is_refused(tmp_path):
    path = tmp_path / "1-throws.log"
    with Recorder(path) as recorder:
        recorder.event("noise", key=5)
    RecordedStore(path, read(path))
    with Recorder(path) as recorder:
        recorder.event("loaded", name="settings", key=5, payload={})
    with pytest.raises(DamagedFile, match="in another form"):
        RecordedStore(path, read(path))
