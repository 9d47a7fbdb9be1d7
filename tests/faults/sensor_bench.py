"""A bench whose sensors go wrong in the midst of a measurement, and what came of it: who told, when, or how far off."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from queue import Queue
from tempfile import TemporaryDirectory
from threading import Thread
from time import monotonic
from typing import Any

import numpy as np
import tomlkit
from tests.calibration import simulate as sim
from tests.host.person import Person, printing

from hingeline.rig.kinds import BOTH
from hingeline.storage.calibrations import save_datum
from hingeline.storage.sides import save_sides
from hingeline.storage.store import Store, now_text
from hingeline_calibration.datum import Datum
from hingeline_virtual.client import VirtualBench

SPEED = 5
SURE_REACHES = 2.0
"""One reading in twenty is off by more than its 95 % uncertainty, and none by twice that: four standard ones."""
AMBIENT_C = 25.0
"""The temperature of the calibrations."""
WARMING_S = 2.0
TRUE_DEG = 20.0
"""Where the stick puts the surface."""
ADDRESSES = {"mpu6050": 0x68, "adxl345": 0x53, "adxl355": 0x1D}
RIGHT = "adxl355"
"""The chip on the right, which no fault befalls, where the trial names no other."""
SHEET = f"""
schema_version = 1
aircraft = "Numb Dotterel"
modes = ["normal"]

[surface.flap]
throws.normal = {{ up = "{TRUE_DEG:g} deg" }}

[tolerances]
profile = "glider"
"""

FAULTS = ("fault", "spoil", "knock", "warm", "unplug")
"""The commands of the bench from whose beginning a fault is timed."""
Deed = tuple[str, dict[str, Any]]
"""A command of the virtual bench and its keys."""


@dataclass(frozen=True)
class Trial:
    """One fault in the midst of one measurement.

    Attributes
    ----------
    fault
        In words.
    command
        What measures, with its options; the rigging sheet and its surface are added where it takes them.
    asked
        By what the command says, what is then done at the bench; the fault is among it.
    seen
        What tells it, as a pattern; empty where nothing does, and the interval must hold the truth.
    status
        With which exit status the command ends; None where it need not end, since the fault has been told.
    chip, truth
        The chip of the left sensor, and what is wrong with it from the start.
    right
        The chip of the right sensor.
    swapped
        Whether the cables of both modules changed places at the board since they were calibrated.
    """

    fault: str
    command: tuple[str, ...]
    asked: tuple[tuple[str, tuple[Deed, ...]], ...]
    seen: str = ""
    status: int | None = None
    chip: str = "mpu6050"
    truth: dict[str, Any] = field(default_factory=dict)
    right: str = RIGHT
    swapped: bool = False


@dataclass(frozen=True)
class Result:
    """What came of a trial.

    Attributes
    ----------
    message
        The line that told the fault; empty where none did.
    after_s
        Time of the bench from the fault to that line.
    status
        Exit status, None where the command was ended since the fault was told.
    error_deg, reach_deg
        Of the reading that is most off, in its own 95 % uncertainty, its error and that uncertainty; None without one.
    verdict
        The word of that reading; empty without one.
    said
        All that the command said.
    """

    trial: Trial
    message: str
    after_s: float | None
    status: int | None
    error_deg: float | None
    reach_deg: float | None
    verdict: str
    said: str

    @property
    def bounded(self) -> bool:
        """Whether no reading is off by more than its 95 % uncertainty."""
        return self._within(1.0)

    @property
    def held(self) -> bool:
        """Whether the fault was told as it should be, and no reading that is off by more than it states is WITHIN.

        Of a fault that nothing tells, whether it did no harm.
        """
        told = bool(self.message) or not self.trial.seen
        honest = self._within(SURE_REACHES) or self.verdict != "WITHIN"
        return told and honest and self.status == self.trial.status

    def _within(self, reaches: float) -> bool:
        """Whether no reading is off by more than so many times its 95 % uncertainty."""
        return self.error_deg is None or self.reach_deg is None or abs(self.error_deg) <= reaches * self.reach_deg


@contextmanager
def at_the_bench(trial: Trial) -> Iterator[Person]:
    """Give a person with the calibrated sensors of a trial, both taped on the flap."""
    rng = np.random.default_rng(3)
    tables, gravity, calibrations, sides = [], {}, {}, {}
    for bus, (side, kind) in enumerate(zip(BOTH, (trial.chip, trial.right), strict=True)):
        one = sim.draw(rng, 1, kind)
        name = sides[side] = f"f1-{128 * bus + ADDRESSES[kind]}"
        rests = sim.poses_of(one, rng, sim.POSES["12+6"])[0]
        calibrations[name] = replace(sim.calibrated(one, rests), sensor_id=name)
        flat = sim.readings(one, rng, np.array([[sim.Z]]), seconds=2.0)[0][0]
        gravity[name] = calibrations[name].gravity(flat)
        tables.append({"name": side, "chip": kind, "bus": bus, **_truth(one)})
    tables[0].update(trial.truth)
    if trial.swapped:
        tables[0]["bus"], tables[1]["bus"] = 1, 0
    surfaces = [
        {"name": f"flap {side}", "side": side, "positions": {"up": TRUE_DEG}, "rate_deg_s": 60.0} for side in BOTH
    ]
    scenario = {
        "seed": 11,
        "speed": SPEED,
        "room": {"ambient_c": AMBIENT_C, "warming_s": WARMING_S},
        "boards": [{"name": "bench", "uid": "f1", "sensors": tables}],
        "surfaces": surfaces,
    }
    with TemporaryDirectory() as folder:
        (Path(folder) / "scenario.toml").write_text(tomlkit.dumps(scenario))
        (Path(folder) / "dotterel.rig.toml").write_text(SHEET)
        store = Store(Path(folder) / "home")
        for name, calibration in calibrations.items():
            store.save("calibration", name, calibration.to_dict())
        save_datum(store, Datum.take(gravity, now_text()))
        save_sides(store, sides)
        with VirtualBench(Path(folder) / "scenario.toml") as bench:
            person = Person(bench, store.root)
            person.tape("flap")
            yield person


def _truth(one: sim.Benches) -> dict[str, Any]:
    """Return the keys of the scenario for a chip of the simulation."""
    matrix = 100 * (one.matrix[0] - np.eye(3))
    return {
        "bias_mg": (1e3 * one.offset_g[0]).tolist(),
        "tempco_mg_c": (1e3 * one.tempco_g[0]).tolist(),
        "scale_percent": np.diag(matrix).tolist(),
        "cross_axis_percent": matrix[[0, 0, 1, 1, 2, 2], [1, 2, 0, 2, 0, 1]].tolist(),
    }


def run(trial: Trial) -> Result:
    """Do a trial."""
    with at_the_bench(trial) as person:
        return _watched(trial, person)


class _Times:
    """Time of the bench by time of this machine, from what the bench answered."""

    def __init__(self, bench: VirtualBench) -> None:
        self._bench = bench
        self._known: list[tuple[float, float]] = []

    def do(self, one: Deed) -> dict[str, Any]:
        """Carry out a deed and return the bench's answer."""
        do, keys = one
        answer = self._bench.do(do, **keys)
        self._known.append((monotonic(), answer["scene_s"]))
        return answer

    def at(self, wall_s: float) -> float:
        """Return the time of the bench, straight between two answers."""
        return float(np.interp(wall_s, *zip(*self._known, strict=True)))


def _watched(trial: Trial, person: Person) -> Result:
    times, waiting, fault_s = _Times(person.bench), list(trial.asked), None
    is_there = not any(do in FAULTS for _, deeds in trial.asked for do, _ in deeds)
    told_s, message = 0.0, ""
    said: list[tuple[float, str]] = []
    lines: Queue[tuple[float, str]] = Queue()
    name, *options = trial.command
    sheet = () if name in ("calibrate", "drift-check") else (str(person.home.parent / "dotterel.rig.toml"), "flap")
    as_json = ("--json",) if name == "throws" else ()
    with person.start(name, *sheet, *options, *as_json) as command, printing(command) as printed:
        reader = Thread(target=_read, args=(command.stderr, lines))
        reader.start()
        while (heard := lines.get())[1]:
            said.append(heard)
            if is_there and not message and trial.seen and re.search(trial.seen, heard[1]):
                told_s, message = heard[0], heard[1].strip()
            if message and trial.status is None:
                command.terminate()
            elif waiting and re.search(waiting[0][0], heard[1]):
                for one in waiting.pop(0)[1]:
                    answer = times.do(one)
                    fault_s = answer["began_s"] if one[0] in FAULTS and fault_s is None else fault_s
                    is_there |= fault_s is not None
        reader.join()
        stdout = printed()
    for line in stdout.splitlines():
        if not message and trial.seen and re.search(trial.seen, line):
            told_s, message = monotonic(), line.strip()
    times.do(("truth", {}))
    after_s = times.at(told_s) - fault_s if message and fault_s is not None else None
    status = None if trial.status is None else command.returncode
    return Result(trial, message, after_s, status, *_worst(name, stdout), "".join(line for _, line in said))


def _read(stream: Iterable[str], lines: Queue[tuple[float, str]]) -> None:
    """Hand over lines with the time at which they came, and an empty one at the end."""
    for line in stream:
        lines.put((monotonic(), line))
    lines.put((monotonic(), ""))


def _worst(command: str, stdout: str) -> tuple[float | None, float | None, str]:
    """Return error, 95 % uncertainty and verdict of the throw that is most off."""
    told = json.loads(stdout) if command == "throws" and stdout else {}
    if "surfaces" not in told:
        return None, None, ""
    judgements = [
        judgement
        for reading in told["surfaces"]["flap"]
        if reading["command"] == "up"
        for judgement in reading["judgements"]
        if judgement["name"] in BOTH
    ]
    throws = [(judgement["measured"], judgement["verdict"]) for judgement in judgements]
    errors = [(angle["deg"] - TRUE_DEG, angle["interval_95_deg"][1] - angle["deg"], word) for angle, word in throws]
    return max(errors, key=lambda error: abs(error[0]) / error[1])
