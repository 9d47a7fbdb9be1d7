"""What to know before trusting a number: a poor or old calibration, an old datum, warmth, a broken chip."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from hingeline.errors import NotMeasurable
from hingeline_calibration.acceptance import off_length_mg
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.still import Reading

BROKEN_G = 0.1
"""Ten times the drift of a chip over years: with gravity this far off, it is broken. Common practice, no source."""
NOMINAL_G = 0.25
"""The same before calibration: the worst chip is off by 0.14 g (80 mg, 3 %, 2 %)."""
OLD_DATUM_H = 12.0
"""A datum older than this is called old; common practice, no source."""
AHEAD_H = 0.25
"""A date further ahead of the clock than this shows that the clock was set back; common practice, no source."""
TELLING_DEG = 0.05
"""Temperature's share of an uncertainty from which on a caution is given; common practice, no source."""


def calibration_cautions(calibration: Calibration, now: str) -> tuple[str, ...]:
    """Caution of a calibration that was kept although it is poor, or is dated after the time `now`, ISO 8601."""
    name = f"calibration of sensor {calibration.sensor_id}"
    poor = (f"the {name} is poor: {'; '.join(calibration.poor)}",) if calibration.poor else ()
    return (*poor, *_dated_ahead(name, calibration.date, now))


def temperature_cautions(calibration: Calibration, temperature_c: float | None) -> tuple[str, ...]:
    """Caution of a sensor that is not at the temperature of its calibration, where both are known."""
    if temperature_c is None or calibration.temperature_c is None:
        return ()
    warmer_c = temperature_c - calibration.temperature_c
    deviation_g_per_c = max(calibration.tempco.deviation_counts_per_c.tolist()) / calibration.counts_per_g
    tilt_deg = math.degrees(deviation_g_per_c) * abs(warmer_c)
    if tilt_deg <= TELLING_DEG:
        return ()
    return (
        f"{calibration.sensor_id} is {abs(warmer_c):.1f} °C {'warmer' if warmer_c > 0 else 'colder'} than when "
        f"calibrated: uncertain by ±{COVERAGE_FACTOR * tilt_deg:.2f}°; warm up and take datum and neutral again, or "
        "calibrate warm",
    )


def gravity_cautions(calibration: Calibration, reading: Reading) -> tuple[str, ...]:
    """Caution of a sensor whose gravity is not 1 g. Raises `NotMeasurable` where no angle can be computed."""
    off_mg, limit_mg = off_length_mg(calibration, reading)
    shown = f"ensor {calibration.sensor_id} at rest shows {1 + off_mg / 1000:.3f} g"
    if abs(off_mg) > 1e3 * BROKEN_G:
        raise NotMeasurable(
            f"S{shown}, expected 1 g within {BROKEN_G:g} g: an axis is stuck or at the end of its range",
            "Check its supply and its solder joints, then calibrate it again; if it stays so, change the module",
        )
    if abs(off_mg) <= limit_mg:
        return ()
    return (
        f"s{shown}, expected 1 g within {limit_mg / 1000:.3f} g: it is not as it was calibrated, and its angles may be "
        f"off by {_tilt_deg(off_mg):.1f}° and more; calibrate it again",
    )


class Doubt(NamedTuple):
    """Why no valid angle can be computed, and what to do about it."""

    reason: str
    cure: str

    @property
    def text(self) -> str:
        """Both in one line."""
        return f"{self.reason}: {self.cure}"


def doubt_of_gravity(calibration: Calibration, reading: Reading) -> Doubt | None:
    """Why no valid angle can be computed from a reading: gravity is off by more than the calibration bears out.

    However little it is: an axis at the angle θ across gravity that errs by e adds e sin θ to its length and e cos θ to
    its direction.
    """
    off_mg, limit_mg = off_length_mg(calibration, reading)
    off_deg = _tilt_deg(off_mg)
    if abs(off_mg) <= limit_mg:
        return None
    return Doubt(
        f"sensor {calibration.sensor_id} shows {1 + off_mg / 1000:.3f} g at rest, not 1 g; the angle may be "
        f"{off_deg:.1f}° wrong and more",
        "calibrate it again",
    )


def doubt_of_length(length_g: float, is_calibrated: bool) -> Doubt | None:
    """Why one sample gives no angle: its length is not that of gravity, from a broken chip or a push."""
    limit_g = BROKEN_G if is_calibrated else NOMINAL_G
    if abs(length_g - 1) <= limit_g:
        return None
    return Doubt(
        f"it shows {length_g:.2f} g, not the 1 g of gravity (within {limit_g:g} g)",
        "hold it still; if it stays so, check its wires and solder joints, then `hingeline doctor`",
    )


def _tilt_deg(error_mg: float) -> float:
    """How far an error of gravity tilts it at most: where it lies across."""
    return math.degrees(abs(error_mg) / 1000)


def datum_cautions(datum: Datum, calibrations: Iterable[Calibration], now: str) -> tuple[str, ...]:
    """Caution of a datum used at the time `now`, ISO 8601, that is old, or older than the calibration of a sensor.

    A datum is made of gravities, and these of a calibration: a later calibration of the same sensor upsets it.
    """
    age_h, texts = _age_h(datum.date, now), []
    if age_h > OLD_DATUM_H:
        texts.append(f"the datum is {age_h:.0f} hours old; lay the sensors on the flat and take it again")
    texts += _dated_ahead("datum", datum.date, now)
    in_datum = (calibration for calibration in calibrations if calibration.sensor_id in datum.gravity)
    later = [each.sensor_id for each in in_datum if each.date > datum.date and not _is_ahead(each.date, now)]
    if later:
        texts.append(f"the datum is older than the calibration of sensor {', '.join(later)}: take it again")
    return tuple(texts)


def _dated_ahead(name: str, date: str, now: str) -> tuple[str, ...]:
    if not _is_ahead(date, now):
        return ()
    return (
        f"the {name} is dated {date}, {-_age_h(date, now):.1f} hours after now by this computer's clock, which was set "
        "back: its age is unknown; set the clock right, and take it again if in doubt",
    )


def _is_ahead(date: str, now: str) -> bool:
    return -_age_h(date, now) > AHEAD_H


def _age_h(date: str, now: str) -> float:
    return (datetime.fromisoformat(now) - datetime.fromisoformat(date)).total_seconds() / 3600
