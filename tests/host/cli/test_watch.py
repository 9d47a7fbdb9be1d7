"""What every sensor reads, by its calibration where one is kept, before real firmware."""

import json
import math
from collections import defaultdict
from statistics import mean

import pytest
from tests.host.cli.terminal import Terminal
from tests.host.person import Person

LEANED = (0.0, math.sin(math.radians(6.4)), math.cos(math.radians(6.4)))
NOT_CALIBRATED = "not calibrated: it may be some degrees off"
WITHIN_DEG = 0.25
"""Of the mean of nine values or more: 4 · (noise 0.1° / √9 + calibration 0.03°); the demonstration's sensors are
2.9° and more off by their chips' nominal sensitivity."""


def watched(person):
    """Return the values of each sensor over some seconds, leaned by 6.4°."""
    person.leaned(*LEANED)()
    outcome = person.run("watch", "--json", "--for", "5")
    assert outcome.status == 0
    values = defaultdict(list)
    for one in map(json.loads, outcome.stdout.splitlines()):
        values[one["sensor_id"]].append(one)
    assert all(len(of_one) >= 9 for of_one in values.values())
    return values


def test_the_calibration_that_is_kept_is_used(person):
    values = watched(person)
    assert len(values) == 2
    for of_one in values.values():
        assert all(one["calibrated"] for one in of_one)
        assert mean(one["lid_tilt_deg"] for one in of_one) == pytest.approx(6.4, abs=WITHIN_DEG)
        assert mean(one["up_g"][1] for one in of_one) == pytest.approx(LEANED[1], abs=math.radians(WITHIN_DEG))


def test_where_none_is_kept_it_is_said_once_beside_the_values(person, tmp_path):
    outcome = person.run("watch", "--for", "2")
    assert NOT_CALIBRATED not in outcome.stdout
    stranger = Person(person.bench, tmp_path / "elsewhere")
    outcome = stranger.run("watch", "--for", "2")
    lines = [line for line in outcome.stdout.splitlines() if NOT_CALIBRATED in line]
    assert len({line.split()[0] for line in lines}) == len(lines) == 2
    assert all("off level" in line for line in lines)
    assert "Ctrl-C stops." in outcome.stderr


def test_a_sensor_that_shows_no_gravity_gets_no_angle(person):
    person.bench.do("fault", sensor="right", kind="zero")
    outcome = person.run("watch", "--json", "--for", "3")
    lines = [json.loads(line) for line in outcome.stdout.splitlines()]
    silent = [line for line in lines if "up_g" in line and math.hypot(*line["up_g"]) < 0.5]
    assert silent
    assert all(line["lid_tilt_deg"] is None and "not the 1 g of gravity" in line["no_verdict"] for line in silent)
    angles = [line for line in lines if line.get("lid_tilt_deg") is not None]
    assert angles
    assert all(line["no_verdict"] is None for line in angles)


def test_q_ends_it(person):
    terminal = Terminal(person, "watch")
    terminal.until(r"Q stops\.")
    terminal.press("q")
    outcome = terminal.end()
    assert outcome.status == 0
    assert "nterrupted" not in outcome.stderr
