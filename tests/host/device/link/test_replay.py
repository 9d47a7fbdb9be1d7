"""The conversation of PROTOCOL.md, played as a recording: what it says of time and loss is what comes out."""

from pathlib import Path

import pytest

from hingeline.device.link.decoder import Line
from hingeline.device.link.replay import Replay
from hingeline.device.samples import Sample, SensorFault

PROTOCOL = Path(__file__).parents[4] / "shared_protocol" / "PROTOCOL.md"
UID = "e661385283127a2b"


@pytest.fixture
def replay():
    """What the board says in the block with the fault, each line 1 ms after the former."""
    blocks = PROTOCOL.read_text(encoding="utf-8").split("```golden\n")[1:]
    (block,) = (block.split("```")[0] for block in blocks if "\n< fault " in block)
    said = [row[2:].encode() for row in block.splitlines() if row.startswith("< ")]
    return Replay(Line("COM7", number * 1_000_000, raw) for number, raw in enumerate(said))


def test_its_sensors_are_known_before_it_is_played(replay):
    assert {name: info.chip for name, info in replay.sensors.items()} == {
        f"{UID}-104": "mpu6050",
        f"{UID}-25": "lis3dh",
    }


def test_its_events_have_the_times_and_values_that_it_tells(replay):
    """The second sample comes 10000 µs after the first, over the wrap: PROTOCOL.md works it out."""
    first, second, third, lost, back, last = replay
    assert [type(event) for event in (first, second, third, lost, back, last)] == (
        [Sample] * 3 + [SensorFault] * 2 + [Sample]
    )
    assert second.time_s - first.time_s == pytest.approx(0.010, abs=1e-5)
    assert third.time_s - second.time_s == pytest.approx(0.010, abs=1e-5)
    assert back.time_s - lost.time_s == pytest.approx(0.380, abs=2e-4)
    assert first.counts == (512.0, -131.0, 16365.5)
    assert first.temperature_c == pytest.approx(25.10)
    assert (lost.code, lost.number, back.code) == ("lost", 5, "back")
    assert last.temperature_c is None
    assert replay.counts["COM7"].lost == {f"{UID}-104": 38}, "sequences 3 to 40"
