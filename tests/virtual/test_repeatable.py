"""Same scenario, same commands, same scene times: same counts, however often and by whomever they are read."""

import numpy as np
import pytest

from hingeline_virtual.buses import Buses, ChipOnBus
from hingeline_virtual.chips import CHIPS
from hingeline_virtual.commands import COMMAND
from hingeline_virtual.scenario import Scenario
from hingeline_virtual.scene import Scene

TOLD = {
    "hands": {"placement_scatter_deg": 0.1, "tape_scatter_deg": 0.3, "yaw_scatter_deg": 2},
    "boards": [
        {
            "name": "b",
            "sensors": [{"name": "s", "chip": "mpu6050"}, {"name": "t", "chip": "mpu6050", "address": 0x69}],
        }
    ],
    "surfaces": [{"name": "flap", "side": "left", "play_deg": 0.4}],
}
COMMANDS = [
    (1.0, {"do": "place", "sensor": "all", "face": "-x"}),
    (2.0, {"do": "tape", "sensor": "s", "surface": "flap"}),
    (3.0, {"do": "deflect", "surface": "flap", "deflection_deg": 20}),
    (3.5, {"do": "hold", "sensor": "t"}),
]


def counts(times_s, seed=5):
    """What both sensors show at scene times, with commands given up to 20 ms before they begin."""
    scenario = Scenario.model_validate({"seed": seed, **TOLD})
    scene = Scene(scenario)
    sensors = scenario.sensors.values()
    buses = Buses({(0, s.address): ChipOnBus(CHIPS[s.chip](s, scene, scenario.seed)) for s in sensors})
    coming = [(at_s, COMMAND.validate_python(fields)) for at_s, fields in COMMANDS]
    for sensor in sensors:
        for register, value in ((0x6B, 0x01), (0x1A, 0x03), (0x19, 0x04)):
            buses.write(0, sensor.address, register, bytes([value]), 0.001)
    shown = {}
    for time_s in times_s:
        while coming and coming[0][0] <= time_s + 0.02:
            at_s, command = coming.pop(0)
            scene.do(command, at_s)
        raw = b"".join(buses.read(0, sensor.address, 0x3B, 6, time_s) for sensor in sensors)
        shown[round(time_s, 6)] = np.frombuffer(raw, ">i2")
    return shown


OFTEN = np.arange(2, 1000) * 0.005 + 0.0012


def test_two_runs_show_the_same():
    first, second = counts(OFTEN), counts(OFTEN)
    assert all((first[time_s] == second[time_s]).all() for time_s in first)


def test_who_reads_seldom_sees_what_who_reads_often_sees():
    often, seldom = counts(OFTEN), counts(OFTEN[::7])
    assert all((often[time_s] == seldom[time_s]).all() for time_s in seldom)


def test_another_seed_shows_something_else():
    first, second = counts(OFTEN), counts(OFTEN, seed=6)
    same = np.mean([(first[time_s] == second[time_s]).all() for time_s in first])
    assert same < 0.01


@pytest.mark.parametrize("time_s", [1.5, 3.9])
def test_sensors_are_disturbed_each_in_its_own_way(time_s):
    shown = counts(OFTEN)
    values = np.array([shown[key] for key in shown if abs(key - time_s) < 0.1], float)
    assert np.abs(np.corrcoef(values.T)[:3, 3:]).max() < 0.9
