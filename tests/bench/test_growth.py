"""The run that the benchmark of a replay makes is one that replays."""

from tests.bench.growth import LINES_HZ, record

from hingeline.device.link.replay import Replay
from hingeline.storage.records import lines


def test_every_line_is_replayed(tmp_path):
    path = tmp_path / "2-1.log"
    count = record(path, sensors=2, minutes=1)
    replay = Replay(lines(path))
    assert sum(1 for _ in replay) == count == 2 * 60 * LINES_HZ
    assert len(replay.sensors) == 2
