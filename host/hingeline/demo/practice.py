"""A set-up to practise on: the virtual bench before it, its sensors calibrated, and truth beside result after it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from hingeline.checks.positions import Measure
from hingeline.demo.hands import DOWN, UP, Hands
from hingeline.demo.job import FOLDER, HOLD_S, SQUARENESS_DEG, Row, Silent, lay_next
from hingeline.device.link.fleet import Fleet
from hingeline.procedures.calibrate import Calibrate
from hingeline.procedures.keeping import keep_good
from hingeline.procedures.runner import Runner
from hingeline.procedures.setup import SetUp
from hingeline.rig.kinds import BOTH
from hingeline.storage.sides import save_sides
from hingeline.storage.store import Store, now_text
from hingeline.units import Side
from hingeline_calibration.priors import Priors
from hingeline_virtual.client import VirtualBench
from hingeline_virtual.scenario_file import load_scenario

SCENARIO, SHEET = FOLDER / "practice.toml", FOLDER / "practice.rig.toml"
SURFACE = "elevator"
FASTER = 20
"""The sensors are calibrated in so much less time than a person takes."""
HIDDEN = (
    "The right half stood 1.9° low.",
    "The left end point up went 13 % too far, the right one down 15 % short.",
    "The left sensor sat 6° askew on its skin: the slow stroke showed it, and no reading is off by it.",
)
"""What is wrong in the scenario, in the words of the bench."""


def hands() -> Hands:
    """Those of whoever practises, before anything was moved."""
    surfaces = {surface.name: surface for surface in load_scenario(SCENARIO).surfaces}
    full_deg: dict[tuple[Side, str], float] = {
        (side, way): surfaces[f"{SURFACE} {side}"].positions[f"{SURFACE} {way}"] for side in BOTH for way in (UP, DOWN)
    }
    return Hands(SURFACE, full_deg)


def work() -> tuple[Measure, ...]:
    """What there is to measure."""
    return Measure("neutral", SURFACE), Measure("throws", SURFACE)


def calibrate(folder: Path) -> None:
    """Calibrate the sensors in the store at `folder`, on a bench of their own that runs faster, and save their sides.

    Raises as `Runner.run`.
    """
    scenario, store = folder / "faster.toml", Store(folder)
    scenario.write_text(SCENARIO.read_text("utf-8").replace("speed = 1", f"speed = {FASTER}"), "utf-8")
    with VirtualBench(scenario) as bench, Fleet(tuple(bench.ports.values())) as fleet:
        fleet.start()
        infos = list(fleet.sensors.values())
        runner = Runner(
            store=store,
            source=fleet,
            talk=Silent(),
            record=lambda kind, **fields: None,
            started=now_text(),
            asks=False,
            choices={"hold_s": HOLD_S},
            wait=lambda runner, text: None,
            on_step=lambda procedure: lay_next(bench, procedure),
        )
        begin = Calibrate.of(infos, runner.started, priors=Priors(squareness_deg=SQUARENESS_DEG))
        results = runner.run(begin).results
        _, refused = keep_good(runner, (results[info.sensor_id] for info in infos), accept=False)
        if refused:
            raise refused[0]
        save_sides(store, dict(zip(BOTH, fleet.sensors, strict=True)), runner.started)


def rows(job: SetUp, hands: Hands, neutrals_deg: Mapping[Side, float]) -> Iterator[Row]:
    """Yield truth beside result: where the neutrals stand at the end, and each throw as it was left."""
    for judgement in job.neutrals[SURFACE].judgements:
        measured = judgement.measured
        truth_deg = neutrals_deg["left"] - neutrals_deg["right"]
        yield Row("neutral, left - right", "°", truth_deg, measured.deg, measured.reach_deg)
    for reading in job.throws[SURFACE].readings:
        for judgement in reading.judgements:
            if judgement.name in BOTH and reading.command in (UP, DOWN):
                truth_deg, measured = hands.deflection_deg(judgement.name, reading.command), judgement.measured
                yield Row(f"{reading.command}, {judgement.name}", "°", truth_deg, measured.deg, measured.reach_deg)
