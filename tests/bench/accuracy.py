"""Accuracy chip by chip: rms error beside the Cramér-Rao bound, and how often 95 % intervals hold the truth.

`make accuracy` writes docs/accuracy.md; the same rows are in the table of `make bench`.
"""

from __future__ import annotations

import os
import platform
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
from tests.bench import settling
from tests.bench.rows import Row
from tests.calibration import simulate as sim
from tests.calibration.cramer_rao import BENCH_DEG, LAYING_RAD, POSES, bound, of_one_truth, slopes, turn
from tests.calibration.test_honesty import hinges, neutrals

from hingeline_calibration.arrays import Array
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum, mismatch
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, deflection
from hingeline_calibration.priors import Priors
from hingeline_calibration.still import Reading

PAGE = Path(__file__).parents[2] / "docs" / "accuracy.md"
CHIPS = ("mpu6050", "lis3dh", "adxl345", "lsm6ds3", "icm42688", "adxl355")
"""One for each driver of the firmware."""
BENCHES = 300
TILT_DEG, TURN_DEG = 10.0, 45.0
REST_S, READING_S = 1.0, 0.7
WITHIN = 1.10
LEAST_PERCENT = 95 - 3 * 100 * (0.95 * 0.05 / BENCHES) ** 0.5
"""Of 95 % intervals that hold, counted in so many benches: three standard deviations of that count less."""
BLIND = "adxl345"
"""Has no thermometer; its temperature is off by 5 °C (standard deviation), which nobody knows."""
UNSEEN_C = 5.0
PRIORS = Priors(**BENCH_DEG)
BOUND = "Cramér-Rao bound"
CALIBRATION, TILT, DEFLECTION, MISMATCH = "calibration", "tilt", "deflection", "mismatch"


def rows() -> list[Row]:
    """Return for each chip errors beside their bounds, and coverage."""
    return [row for chip in CHIPS for row in (*_beside_bounds(chip), *_coverage(chip))]


def _beside_bounds(chip: str) -> list[Row]:
    """Return rms errors over benches of one chip, new turns and new noise in each.

    The calibration is all twelve of its parameters; a tilt one reading at 10°; a deflection two readings, 45° apart; a
    mismatch two sensors at 10° from a datum, each laid down once.
    """
    rng = np.random.default_rng([1, CHIPS.index(chip)])
    benches, truth = of_one_truth(rng, chip, BENCHES)
    density_g = np.array(benches.chip.noise_ug_per_rthz) * 1e-6
    least = bound(truth, np.hypot(density_g / np.sqrt(2 * REST_S), benches.repeat_g))
    angles_deg = np.array([0.0, TILT_DEG, TURN_DEG])
    ups = sim.deflected(np.tile(sim.X, (3, 1)), np.tile(sim.Z, (3, 1)), angles_deg)
    taken = sim.poses_of(benches, rng, sim.POSES[POSES], seconds=REST_S, lean_scatter=0.0)
    shown = sim.readings(benches, rng, np.tile(ups, (BENCHES, 1, 1)), seconds=READING_S)
    parameters, seen = [], []
    for row, readings in zip(taken, shown, strict=True):
        found = sim.calibrated(benches, row, PRIORS)
        parameters.append(_parameters(found) - truth)
        level, tilted, turned = (found.gravity(reading).vector_g for reading in readings)
        seen.append([turn(np.array(pair)) for pair in ((sim.Z, tilted), (level, tilted), (level, turned))])
    tilts, from_datum, turns = np.array(seen).T
    laid = LAYING_RAD * rng.standard_normal(BENCHES)
    one_side = from_datum + laid

    def variance(*places: int, start: Array | None = None) -> float:
        fixed = () if start is None else (start,)
        by_truth, by_reading = slopes(
            lambda gravities: turn(np.array([*fixed, *gravities])),
            truth,
            ups[list(places)] @ truth[:9].reshape(3, 3).T + truth[9:],
        )
        noise_g = np.hypot(density_g / np.sqrt(2 * READING_S), benches.repeat_g)
        return float(by_truth @ least @ by_truth + np.sum((by_reading * noise_g) ** 2))

    tilt, turned_by = np.radians([TILT_DEG, TURN_DEG])
    apart = 2 * (variance(0, 1) + LAYING_RAD**2)
    return [
        _row(chip, CALIBRATION, 1e3 * np.array(parameters), 1e6 * np.trace(least) / 12, "mg"),
        _row(chip, TILT, np.degrees(tilts - tilt), np.degrees(np.degrees(variance(1, start=sim.Z))), "°"),
        _row(chip, DEFLECTION, np.degrees(turns - turned_by), np.degrees(np.degrees(variance(0, 2))), "°"),
        _row(chip, MISMATCH, np.degrees(one_side - np.roll(one_side, 1)), np.degrees(np.degrees(apart)), "°"),
    ]


def _row(chip: str, what: str, errors: Array, variance: float, unit: str) -> Row:
    rms = float(np.sqrt(np.mean(np.square(errors))))
    return Row(f"{chip}, {what}, rms error", rms, unit, BOUND, float(np.sqrt(variance)), at_most=WITHIN)


def _coverage(chip: str) -> list[Row]:
    """Return coverage over benches whose chips, tables, carriers, hinges, temperatures are drawn anew."""
    rng = np.random.default_rng([2, CHIPS.index(chip)])
    benches = sim.draw(rng, BENCHES, chip)
    taken = sim.poses_of(benches, rng, sim.POSES[POSES], seconds=REST_S)
    true_deg, tilt_deg = rng.uniform(-TURN_DEG, TURN_DEG, BENCHES), rng.uniform(-TILT_DEG, TILT_DEG, BENCHES)
    hinge, neutral = hinges(rng, BENCHES, 1.0, 0.5), neutrals(rng, BENCHES)
    along, level = np.tile(sim.X, (BENCHES, 1)), np.tile(sim.Z, (BENCHES, 1))
    laid = sim.deflected(along, level, np.degrees(LAYING_RAD) * rng.standard_normal(BENCHES))
    tilted = sim.deflected(along, level, tilt_deg)
    ups = np.stack([neutral, sim.deflected(hinge, neutral, true_deg), laid, tilted], axis=1)
    blind = chip == BLIND
    warmer_c = UNSEEN_C * rng.standard_normal((BENCHES, 1)) if blind else rng.uniform(-3, 3, (BENCHES, 1))
    shown = sim.readings(benches, rng, ups, seconds=READING_S, warmer_c=warmer_c)
    axis = HingeAxis(yaw_sd_deg=1.0, elevation_sd_deg=0.5)
    square = HingeAxis(yaw_sd_deg=0.0, elevation_sd_deg=0.0)
    held: dict[str, list[object]] = {CALIBRATION: [], TILT: [], DEFLECTION: [], MISMATCH: []}
    sides = []
    for b in range(BENCHES):
        found = sim.calibrated(benches, [replace(one, reading=_seen(one.reading, blind)) for one in taken[b]])
        start, end, flat, now = (found.gravity(_seen(reading, blind)) for reading in shown[b])
        truth = np.concatenate([benches.matrix[b].ravel(), benches.offset_g[b]])
        deviations = np.sqrt(np.diag(found.covariance)) / found.counts_per_g
        held[CALIBRATION].append(np.abs(_parameters(found) - truth) <= COVERAGE_FACTOR * deviations)
        off_rad = turn(np.array([sim.Z, now.vector_g])) - np.radians(tilt_deg[b])
        held[TILT].append(abs(off_rad) <= COVERAGE_FACTOR * _tilt_deviation_rad(found, now))
        low, high = deflection(start, end, found, axis).interval_deg
        held[DEFLECTION].append(low <= true_deg[b] <= high)
        sides.append(Datum.take({found.sensor_id: flat}, found.date, PRIORS).angle(found.sensor_id, now, found, square))
    for b in range(BENCHES):
        low, high = mismatch(sides[b], sides[b - 1]).interval_deg
        held[MISMATCH].append(low <= tilt_deg[b] - tilt_deg[b - 1] <= high)
    return [
        Row(
            f"{chip}, {what}, 95 % intervals hold",
            100 * float(np.mean(those)),
            "%",
            at_least=LEAST_PERCENT,
        )
        for what, those in held.items()
    ]


def _seen(reading: Reading, blind: bool) -> Reading:
    return replace(reading, temperature_c=None) if blind else reading


def _parameters(found: Calibration) -> Array:
    """(12,) S row by row and b, in g."""
    return np.concatenate([found.matrix_counts_per_g.ravel(), found.bias_counts]) / found.counts_per_g


def _tilt_deviation_rad(found: Calibration, now: Gravity) -> float:
    """Standard deviation of the tilt about x of one reading, as its calibration and its reading state it."""
    across = np.cross(now.vector_g, sim.X)
    slope = across / (across @ across)
    by_truth = slope @ found.parameter_slope(now)
    warmth = slope @ found.tempco_slope(now) * found.tempco.deviation_counts_per_c
    variance = by_truth @ found.covariance @ by_truth + slope @ now.covariance_g2 @ slope + warmth @ warmth
    variance += slope @ slope * found.repeat.variance_g2
    return float(np.sqrt(variance))


def main() -> None:
    """Measure, and write the page."""
    text = _page([(chip, *_beside_bounds(chip), *_coverage(chip)) for chip in CHIPS])
    text += f"\n{settling.section()}"
    print(text)
    PAGE.write_text(text, encoding="utf-8")


def _page(found: list[tuple[str | Row, ...]]) -> str:
    quantities = (CALIBRATION, TILT, DEFLECTION, MISMATCH)
    heads = (
        "chip",
        *(f"{what}: rms, ratio" for what in quantities),
        *(f"{what}: held" for what in quantities),
    )
    table = [heads, ("---",) * len(heads), *(tuple(map(_cell, cells)) for cells in found)]
    unmet = sum(row.met is False for cells in found for row in cells if isinstance(row, Row))
    machine = f"{platform.system()} {platform.machine()} with {os.cpu_count()} cores"
    made = f"{date.today().isoformat()}, on {machine}, CPython {platform.python_version()}, numpy {np.__version__}"
    return f"""# Accuracy, chip by chip

Made by `make accuracy` on {made}.
{BENCHES} seeded benches a chip and column, noise and limits as its datasheet has them, 12 + 6 poses of {REST_S:g} s,
readings of {READING_S:g} s. Quantisation is left out here; the virtual bench has it.

*rms, ratio*: root mean square error, and what it is of the Cramér-Rao bound, which is computed from the physics of the
bench and not from the estimator (tests/calibration/cramer_rao.py). At most {WITHIN:g} is wanted; less than 1 is chance.
The calibration is all twelve parameters, in mg at 1 g; a tilt is one reading at {TILT_DEG:g}°, which the squareness of
the carrier limits, {BENCH_DEG["squareness_deg"]:g}° a face; a deflection is two readings {TURN_DEG:g}° apart;
a mismatch is two sensors at {TILT_DEG:g}° from one datum.

*held*: how many of the stated 95 % intervals hold the truth, with chip, table, carrier, hinge and temperature drawn
anew in each bench. At least {LEAST_PERCENT:.0f} % is wanted, three standard deviations of such a count. The temperature
of {BLIND} is off by {UNSEEN_C:g} °C (standard deviation), which it can't tell.

{chr(10).join("| " + " | ".join(row) + " |" for row in table)}

Not met: {unmet or "none"}.
"""


def _cell(cell: str | Row) -> str:
    if isinstance(cell, str):
        return cell
    if cell.ratio is None:
        return f"{cell.ours:.1f} %"
    return f"{cell.ours:.2g} mg, {cell.ratio:.2f}" if cell.unit == "mg" else f"{cell.ours:.4f}°, {cell.ratio:.2f}"


if __name__ == "__main__":
    main()
