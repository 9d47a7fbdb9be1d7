"""A whole day on the firmware's own streamer: nothing lost, nothing twice, no heap used up."""

import json
import subprocess
from collections import Counter
from pathlib import Path

import pytest
from tests.firmware.installed import environment
from tests.unix_port import micropython

from hingeline_protocol.line import unseal
from hingeline_protocol.messages import SEQUENCE_PERIOD, TICKS_PERIOD_US, parse

ROOT = Path(__file__).parents[2]
DAY_S = 24 * 3600
SETTLING_S = 0.1
"""A chip's first lines are left out: its filter starts."""


@pytest.mark.parametrize(
    ("lines_hz", "readings", "sensors"),
    [pytest.param(2, 1, 1, marks=pytest.mark.long), pytest.param(50, 4, 2, marks=pytest.mark.soak)],
)
def test_a_day_over_all_wraps_loses_and_doubles_nothing(tmp_path, lines_hz, readings, sensors):
    lines = Counter()
    sequence_steps, ticks_steps_us, sums_of = set(), set(), set()
    last = {}
    # Into a file: of a pipe whose reader is slow the firmware would rightly drop lines.
    with (tmp_path / "lines").open("w+b") as file:
        run = subprocess.run(
            [
                micropython(),
                Path(__file__).with_name("day.py"),
                *map(str, (lines_hz, readings, sensors)),
            ],
            env=environment(),
            stdin=subprocess.DEVNULL,
            stdout=file,
            stderr=subprocess.PIPE,
            check=True,
        )
        file.seek(0)
        for line in file:
            sample = parse(unseal(line))
            former = last.get(sample.sensor)
            if former is not None:
                sequence_steps.add((sample.sequence - former.sequence) % SEQUENCE_PERIOD)
                ticks_steps_us.add((sample.ticks_us - former.ticks_us) % TICKS_PERIOD_US)
                sums_of.add(sample.readings)
            last[sample.sensor] = sample
            lines[sample.sensor] += 1
    (tmp_path / "lines").unlink()
    result = json.loads(run.stderr)
    assert sequence_steps == {1}
    assert ticks_steps_us == {1_000_000 // lines_hz}
    assert sums_of == {readings}
    expected = DAY_S * lines_hz - round(SETTLING_S * lines_hz)
    assert list(lines.values()) == [expected] * sensors
    assert result["lines"] == expected * sensors
    assert (result["late"], result["dropped"]) == (0, 0)
    assert result["last"] - result["first"] < 1024


def test_a_stream_that_was_stopped_goes_on_at_once_however_long_it_rested():
    run = subprocess.run(
        [micropython(), Path(__file__).with_name("rest.py")],
        env=environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        check=True,
    )
    result = {int(minutes): lines for minutes, lines in json.loads(run.stderr).items()}
    assert max(result) * 60e6 > TICKS_PERIOD_US
    assert any(TICKS_PERIOD_US / 2 < minutes * 60e6 < TICKS_PERIOD_US for minutes in result), "a difference is negative"
    assert set(result.values()) == {50}
