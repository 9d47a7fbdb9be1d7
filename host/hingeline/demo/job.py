"""The job of the demonstration, done as at a real bench; the virtual bench does what a builder's hands would do."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from hingeline.checks.direction import commands
from hingeline.checks.neutral import NeutralCheck
from hingeline.checks.positions import NEUTRAL
from hingeline.checks.results import NeutralResult, ThrowResult
from hingeline.checks.summary import last_readings
from hingeline.checks.values import Angle, Judgement
from hingeline.device.link.fleet import Fleet
from hingeline.errors import HingelineError, NotMeasurable
from hingeline.measure.pipeline import Instrument, take_datum
from hingeline.procedures.calibrate import Calibrate
from hingeline.procedures.datum import LayDown
from hingeline.procedures.keeping import keep_good
from hingeline.procedures.neutral import Neutral
from hingeline.procedures.procedure import P
from hingeline.procedures.runner import Runner
from hingeline.procedures.throws import Throws
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH
from hingeline.storage.calibrations import load_instruments, save_datum
from hingeline.storage.store import Store, now_text
from hingeline.units import signed
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.priors import Priors
from hingeline_virtual.client import VirtualBench
from hingeline_virtual.scenario_file import load_scenario

FOLDER = Path(__file__).parent
SCENARIO, SHEET = FOLDER / "glider.toml", FOLDER / "glider.rig.toml"
SQUARENESS_DEG = 0.05
"""The carriers of the scenario, cut square on a machine."""
STROKE_S = 6.0
"""From end to end, slowly, while the first stroke is asked for."""
ROUNDS = 4
POSES_A_LINE = 6
HOLD_S = 1.5
"""Longer than at the bench: a demonstration is in no hurry."""
REACH = 4.2
"""Standard uncertainties to each side of a value (coverage factor of the GUM): with it some thirty intervals hold
their truths all together with 99.9 % (Bonferroni: 1 - 0.001/2/30 is the normal distribution at 4.15)."""


@dataclass(frozen=True)
class Row:
    """A true value, what was measured, and how far its stated interval reaches to either side."""

    name: str
    unit: str
    truth: float
    measured: float
    reach: float

    @property
    def agrees(self) -> bool:
        """Whether the interval holds the truth."""
        return abs(self.measured - self.truth) <= self.reach

    def text(self) -> str:
        """Write the row as a line."""
        return (
            f"    {self.name:<31} true {signed(self.truth):>6} measured {signed(self.measured):>6} "
            f"±{self.reach:.2f} {self.unit:<2} {'agrees' if self.agrees else 'DISAGREES'}"
        )

    def to_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        numbers = {key: round(getattr(self, key), 4) for key in ("truth", "measured", "reach")}
        return {"name": self.name, "unit": self.unit, **numbers, "agrees": self.agrees}


class Job:
    """One run, with the boards of a virtual bench as the host sees them, streaming; `say` takes every line of talk."""

    def __init__(self, bench: VirtualBench, fleet: Fleet, store: Store, say: Callable[[str], None]) -> None:
        self._bench, self._fleet, self._store, self._say = bench, fleet, store, say
        self._sheet = load_sheet(SHEET)
        self._truths = load_scenario(SCENARIO).sensors
        self._sides = dict(zip(BOTH, fleet.sensors, strict=True))
        self._runner = Runner(
            store=store,
            source=fleet,
            talk=Silent(),
            record=lambda kind, **fields: None,
            started=now_text(),
            asks=False,
            choices={"hold_s": HOLD_S},
            wait=lambda runner, text: None,
        )
        self.rows: list[Row] = []
        self._true_at: dict[str, dict[str, float]] = {}  # by position, as it was held
        self._to_adjust: list[tuple[str, dict[str, float]]] = []

    def run(self) -> list[Row]:
        """Do all of it, and return the truth beside each measurement."""
        calibrations = self._calibrate()
        datum = self._datum(calibrations)
        for surface in self._sheet.surfaces:
            self._say(f"\n{surface}: both sensors taped on at the same distance from the root.")
            for side in BOTH:
                self._bench.do("tape", sensor=side, surface=f"{surface} {side}")
            instruments = load_instruments(self._store, self._sides, self._fleet.sensors)
            self._match(surface, instruments, datum)
            self._throws(surface, instruments)
        return self.rows

    def _go(self, procedure: P, act: Callable[[P], None]) -> P:
        """Go through a procedure; before each wait, do what a builder's hands would do."""
        self._runner.on_step = act
        return self._runner.run(procedure)

    def _calibrate(self) -> dict[str, Calibration]:
        infos = list(self._fleet.sensors.values())
        begin = Calibrate.of(infos, self._runner.started, priors=Priors(squareness_deg=SQUARENESS_DEG))
        wanted = len(begin.progress[infos[0].sensor_id].checklist.wanted)
        self._say(
            f"Calibration: {wanted} poses of both sensors, each face once and once turned end for end, then propped "
            "six ways."
        )
        results = self._go(begin, self._lay_next).results
        kept, refused = keep_good(self._runner, map(results.__getitem__, self._sides.values()), accept=False)
        if refused:
            raise refused[0]
        for side, (calibration, _) in zip(BOTH, kept, strict=True):
            self._compare_bias(side, calibration)
        self._fleet.start()  # a board that is given its calibration ends its stream
        return {calibration.sensor_id: calibration for calibration, _ in kept}

    def _lay_next(self, calibrate: Calibrate) -> None:
        first = next(iter(calibrate.progress.values())).checklist
        if len(first.taken) and len(first.taken) % POSES_A_LINE == 0:
            names = ", ".join(pose.name for pose in first.taken[-POSES_A_LINE:])
            self._say(f"  taken: {names}")
        lay_next(self._bench, calibrate)

    def _compare_bias(self, side: str, calibration: Calibration) -> None:
        to_mg = 1000 / calibration.counts_per_g
        deviations = np.sqrt(np.diag(calibration.covariance))[9:] * to_mg
        biases = zip(self._truths[side].bias_mg, calibration.bias_counts * to_mg, deviations, strict=True)
        for axis, values in zip("xyz", biases, strict=True):
            self._compare(f"{side} sensor, bias {axis}", "mg", *map(float, values))

    def _datum(self, calibrations: dict[str, Calibration]) -> Datum:
        self._say("\nDatum: both sensors on one flat, edges parallel.")
        truth = self._bench.do("place", sensor="all", face="+z")
        self._drop_former_lines()
        down = self._go(LayDown(tuple(self._sides.values())), lambda procedure: None)
        datum = take_datum(calibrations, down.laid or {}, date=self._runner.started)
        save_datum(self._store, datum)
        for (side, sensor_id), state in zip(self._sides.items(), truth["sensors"], strict=True):
            self._compare_flat(side, calibrations[sensor_id], datum, state["up"])
        return datum

    def _compare_flat(self, side: str, calibration: Calibration, datum: Datum, true_up: list[float]) -> None:
        """Compare how far up leans in the carrier frame, toward x and toward y."""
        gravity = datum.gravity[calibration.sensor_id]
        slope = calibration.parameter_slope(gravity)
        covariance = gravity.covariance_g2 + slope @ calibration.covariance @ slope.T
        for index, axis in enumerate("xy"):
            values = true_up[index], gravity.vector_g[index], math.sqrt(covariance[index, index])
            truth, measured, sd = map(math.degrees, values)
            self._compare(f"{side} sensor, flat leans to {axis}", "°", truth, measured, sd)

    def _match(self, surface: str, instruments: tuple[Instrument, ...], datum: Datum) -> None:
        def turn(neutral: Neutral) -> None:
            if neutral.stroke is not None:
                rises_first = commands(self._sheet.surface(surface))[0].signs["left"] > 0
                for end in ("up", "down") if rises_first else ("down", "up"):
                    self._bench.do("stick", position=f"{surface} {end}", over_s=STROKE_S)
                self._bench.do("stick", position=NEUTRAL, over_s=STROKE_S)
                return
            if neutral.reading is not None and neutral.reading.inside:
                self._runner.keys.pressed.put("next")
                return
            if neutral.number == ROUNDS:
                raise _never_inside(f"{surface} neutral")
            if neutral.reading is not None:
                self._digest_neutral(surface, neutral.reading)
                moves_deg = neutral.reading.judgements[0].moves_deg
                self._bench.do("adjust", surface=f"{surface} right", neutral_by_deg=moves_deg)
                self._drop_former_lines()

        matched = self._go(Neutral(NeutralCheck(self._sheet, surface, instruments, datum)), turn)
        if matched.reading is not None:
            self._digest_neutral(surface, matched.reading)

    def _drop_former_lines(self) -> None:
        """Drop all lines of before the last change: those still under way come before the answer to a question."""
        for board in self._fleet.boards:
            board.status()
        self._fleet.mark(lambda: None)

    def _digest_neutral(self, surface: str, reading: NeutralResult) -> None:
        (judgement,) = reading.judgements
        truth = self._true("angle_deg", surface)
        self._compare_angle(f"{surface} neutral, left - right", truth["left"] - truth["right"], judgement.measured)
        self._tell(judgement)

    def _throws(self, surface: str, instruments: tuple[Instrument, ...]) -> None:
        def move(throws: Throws) -> None:
            command = throws.position.command if throws.position is not None else NEUTRAL
            self._bench.do("stick", position=command if command == NEUTRAL else f"{surface} {command}")
            self._true_at[command] = self._true("deflection_deg", surface)

        for _ in range(ROUNDS):
            readings = last_readings(self._go(Throws(self._sheet, surface, instruments), move).readings)
            for reading in readings:
                self._digest_throw(surface, reading)
            if all(reading.inside for reading in readings):
                return
            for side, positions in self._to_adjust:  # at neutral, where no end point moves a surface
                self._bench.do("adjust", surface=side, positions=positions)
            self._to_adjust.clear()
        raise _never_inside(f"{surface} throws")

    def _digest_throw(self, surface: str, reading: ThrowResult) -> None:
        truth = self._true_at[reading.command]
        self._say(f"  {surface} {reading.command}")
        for judgement in reading.judgements:
            if judgement.name in truth:
                name = f"{surface} {reading.command}, {judgement.name}"
                self._compare_angle(name, truth[judgement.name], judgement.measured)
            self._tell(judgement)
        for judgement in reading.judgements:
            side = judgement.name
            if side in truth and judgement.moves_deg:
                positions = {f"{surface} {reading.command}": truth[side] + judgement.moves_deg}
                self._to_adjust.append((f"{surface} {side}", positions))

    def _true(self, key: str, surface: str) -> dict[str, float]:
        states = {state["surface"]: state[key] for state in self._bench.do("truth")["surfaces"]}
        return {side: states[f"{surface} {side}"] for side in BOTH}

    def _compare_angle(self, name: str, truth_deg: float, measured: Angle) -> None:
        self._compare(name, "°", truth_deg, measured.deg, measured.standard_uncertainty_deg)

    def _compare(self, name: str, unit: str, truth: float, measured: float, deviation: float) -> None:
        self.rows.append(Row(name, unit, truth, measured, REACH * deviation))
        self._say(self.rows[-1].text())

    def _tell(self, judgement: Judgement) -> None:
        advice = f": {judgement.to_do}" if judgement.to_do else ""
        self._say(f"      {judgement.name}: {judgement.verdict_text}{advice}")


def lay_next(bench: VirtualBench, calibrate: Calibrate) -> None:
    """Lay all sensors as the calibration asks for next."""
    unfinished = (progress.checklist for progress in calibrate.progress.values() if progress.result is None)
    pose = next(checklist.missing[0] for checklist in unfinished if checklist.missing)
    if pose.face is None:
        bench.do("lean", sensor="all", up=pose.up.tolist())
    else:
        bench.do("place", sensor="all", face=pose.face, yaw_deg=pose.yaw_deg)


def run_job(say: Callable[[str], None]) -> list[Row]:
    """Do the whole job on the virtual bench, with a store that is thrown away."""
    with TemporaryDirectory() as folder, VirtualBench(SCENARIO) as bench, Fleet(tuple(bench.ports.values())) as fleet:
        fleet.start()
        return Job(bench, fleet, Store(Path(folder)), say).run()


class Silent:
    """Says nothing of what the procedures say: whoever runs them tells it otherwise."""

    def say(self, text: str) -> None: ...

    part = passing = say

    def owe(self, problem: HingelineError) -> None:
        raise problem


def _never_inside(name: str) -> NotMeasurable:
    text = f"{name} was not within the tolerance after {ROUNDS} rounds"
    return NotMeasurable(text, "This is a fault of hingeline: please report it")
