"""Calibrations that are kept: loaded by the name of their sensor, and in words.

This module loads the numerical stack: a command imports it when it is called, in its function.
"""

from __future__ import annotations

from typing import Any

from hingeline.errors import NotStored
from hingeline.measure import uncertainty
from hingeline.storage.sides import find_sensor
from hingeline.storage.store import Store
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.poses import FACE_WORDS


def load(store: Store, sensor: str, number: int | None) -> Calibration:
    """Load a calibration of the only sensor that the name fits."""
    if not (kept := store.keys("calibration")):
        raise NotStored(f"No calibration is kept in {store.root}", "Calibrate a sensor: `hingeline calibrate`")
    return Calibration.from_dict(store.load("calibration", find_sensor(sensor, kept), number))


def calibration_row(fit: Calibration, number: int) -> str:
    warmth = "" if fit.temperature_c is None else f"  {fit.temperature_c:.1f} °C"
    poor = f"  POOR: {'; '.join(fit.poor)}" if fit.poor else ""
    return (
        f"{fit.sensor_id}  number {number}  {fit.date[:10]}  {len(fit.poses)} poses{warmth}  "
        f"residual {fit.residual_mg:.2f} mg{poor}"
    )


def calibration_text(fit: Calibration) -> str:
    """Put a calibration into words: parameters, table, carrier, certainty."""
    nominal = fit.counts_per_g
    rows = [f"{fit.sensor_id}  {fit.chip}  calibrated {fit.date}"]
    for axis, row, offset in zip("xyz", fit.scale_counts_per_g, fit.bias_counts, strict=True):
        rows.append(
            f"  {axis}: {row:9.1f} counts/g ({100 * (row / nominal - 1):+.2f} %), "
            f"bias {offset:+8.1f} counts ({1000 * offset / nominal:+.1f} mg)"
        )
    temperature = "" if fit.temperature_c is None else f" at {fit.temperature_c:.1f} °C"
    rows.append(f"  residual {fit.residual_mg:.2f} mg over {len(fit.poses)} poses{temperature}")
    rows += [f"  {text}" for text in _accuracy_rows(fit)]
    if fit.priors_decide:
        rows.append(
            f"  not measured by these poses, bounded by --squareness and a nearly level table alone: "
            f"{', '.join(fit.priors_decide)}"
        )
    rows += [f"  POOR: {reason}" for reason in fit.poor]
    return "\n".join(rows)


def _accuracy_rows(fit: Calibration) -> list[str]:
    """What the fit says of table, carrier and temperature, and what it leaves uncertain."""
    rows = []
    if (tilt_deg := uncertainty.table_tilt_deg(fit)) is not None:
        rows.append(f"table {tilt_deg:.2f}° off level")
    if not fit.priors_decide:
        face, off_deg, deviation_deg = uncertainty.worst_square(fit)
        rows.append(f"carrier out of square by {off_deg:.2f}° ±{2 * deviation_deg:.2f} at most ({FACE_WORDS[face]})")
    if fit.tempco.measured:
        per_c: Any = fit.tempco.counts_per_c / fit.counts_per_g * 1000
        rows.append(f"bias changes by {', '.join(f'{value:+.2f}' for value in per_c)} mg/°C (x, y, z)")
    budget = uncertainty.telling_budget(fit)
    rows.append(
        f"a 45° deflection to ±{2 * budget.standard_uncertainty:.2f}° by this alone, "
        f"{uncertainty.limits_text(budget, enough=uncertainty.GOOD_DEG)}"
    )
    return rows
