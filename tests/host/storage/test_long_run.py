"""Eight sensors for a day: the host loses nothing, its memory stands still, and its session is whole at any moment."""

import os
import select
import subprocess
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest
from tests.host.fast_boards import BOARDS, LINES_HZ, SENSORS, FastBoard

from hingeline.device.link.decoder import sample_fields
from hingeline.storage.records import MOST_BYTES, lines
from hingeline_protocol.messages import SEQUENCE_PERIOD

SAMPLES_S = BOARDS * SENSORS * LINES_HZ
DAY_S = 24 * 3600
AHEAD_S = 10
"""The boards' time runs no further ahead of the host: what it has not taken yet is in its memory. They go on beyond its
end, as boards do: the last events of one board are held until the others have spoken of a later time."""
SAMPLE_BYTES = 90
"""Of a sample in a session at most: a line of up to 76 bytes, usually 50, after its arrival and its port."""
GROWTH = 1.05
"""Of the greatest memory, from the first hour on."""


class Run:
    """A host that measures with eight sensors for `seconds` of their time, while its `with` lasts.

    Attributes
    ----------
    told
        What the host told last: samples, rests, greatest memory; at its end bad and lost lines too.
    """

    def __init__(self, home, seconds: int) -> None:
        self._home, self._seconds = home, seconds
        self._sent = 0
        self.told = [0, 0, 0]

    def __enter__(self) -> "Run":
        self._boards = [FastBoard(number) for number in range(BOARDS)]
        self._talk = (self._home / "talk").open("w+b")
        ports = [board.port for board in self._boards]
        self.host = subprocess.Popen(
            [sys.executable, "-m", "tests.host.storage.long_run", str(self._seconds * SAMPLES_S), *ports],
            env={**os.environ, "HINGELINE_HOME": str(self._home)},
            stdout=subprocess.PIPE,
            stderr=self._talk,
            bufsize=0,
        )
        return self

    def __exit__(self, *exception: object) -> None:
        self.host.kill()
        self.host.wait()
        self.host.stdout.close()
        self._talk.close()
        for board in self._boards:
            board.close()

    @property
    def talk(self) -> str:
        """What the host has said last."""
        return (self._home / "talk").read_text()[-2000:]

    @property
    def file(self):
        """The file of the run that was begun last."""
        return max(self._home.rglob("*.log"))

    def until(self, time_s: int) -> None:
        """Let the boards live until the host has all samples of so long, or has ended."""
        while self.told[0] < time_s * SAMPLES_S or time_s == self._seconds:
            self._live()
            by_end = {board.near: board for board in self._boards}
            unsent = [end for end, board in by_end.items() if board.unsent]
            asking, free, _ = select.select([self.host.stdout, *by_end], unsent, [])
            if self.host.stdout in asking:
                asking.remove(self.host.stdout)
                line = self.host.stdout.readline()
                if not line:
                    return
                self.told = [int(word) for word in line.split()]
            for end in asking:
                by_end[end].listen()
            for end in free:
                by_end[end].send()

    def _live(self) -> None:
        taken_s = self.told[0] / SAMPLES_S
        idle = all(board.streaming and not board.unsent for board in self._boards)
        if idle and self._sent - taken_s < AHEAD_S:
            self._sent += 1
            for board in self._boards:
                board.queue(LINES_HZ)


def content(folder) -> tuple[Counter, set[int]]:
    """Return how many samples of each sensor a session holds, and by what their sequence numbers step."""
    count, last, steps = Counter(), {}, set()
    for line in lines(folder):
        fields = sample_fields(line.raw)
        if fields is not None:
            sensor = line.port, fields[0]
            steps.add((fields[1] - last.get(sensor, fields[1] - 1)) % SEQUENCE_PERIOD)
            last[sensor] = fields[1]
            count[sensor] += 1
    return count, steps


@pytest.mark.parametrize("seconds", [60, pytest.param(DAY_S, marks=pytest.mark.soak)])
def test_nothing_is_lost_memory_stands_still_and_the_session_is_read_while_it_grows(tmp_path, seconds):
    first_s = seconds // 24
    with Run(tmp_path, seconds) as run, ThreadPoolExecutor() as pool:
        run.until(first_s)
        first_memory = run.told[2]
        so_far = pool.submit(content, run.file)
        run.until(seconds)
        assert run.told[0] == seconds * SAMPLES_S, run.talk
        size_bytes = (run.file).stat().st_size
        count, steps = so_far.result()
        assert steps == {1}
        assert len(count) == BOARDS * SENSORS
        assert sum(count.values()) >= first_s * SAMPLES_S
        samples, rests, memory, bad, lost = run.told
        assert (samples, bad, lost) == (seconds * SAMPLES_S, 0, 0)
        assert rests >= seconds // 60
        assert memory <= GROWTH * first_memory
        assert size_bytes < (samples + AHEAD_S * SAMPLES_S) * SAMPLE_BYTES
        assert DAY_S * SAMPLES_S * SAMPLE_BYTES < MOST_BYTES
        count, steps = content(run.file)
        assert (sum(count.values()) >= samples, steps) == (True, {1})
        print(f"{samples} samples, {rests} rests, {size_bytes} bytes, memory {first_memory} to {memory}")


def test_after_a_kill_all_that_was_taken_is_there_and_the_next_run_begins(tmp_path):
    with Run(tmp_path, 60) as run:
        run.until(2)
        run.host.kill()
        run.host.wait()
        count, steps = content(run.file)
    assert steps == {1}
    assert sum(count.values()) >= run.told[0] >= 2 * SAMPLES_S
    with Run(tmp_path, 2) as again:
        again.until(2)
        assert again.told == [2 * SAMPLES_S, again.told[1], again.told[2], 0, 0]
    assert len(list(tmp_path.rglob("*.log"))) == 2
