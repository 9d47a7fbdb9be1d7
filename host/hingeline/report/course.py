"""The course of a surface line by line, laid through what was read at its rests."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from hingeline.checks.results import SidesResult, ThrowResult
from hingeline.errors import SheetError, UsageProblem
from hingeline.measure.pipeline import FixedPart, Instrument
from hingeline.measure.tracks import Floats, Mask, Track, smoothed, track_of
from hingeline.report.lines import Lines, known
from hingeline.report.results import Recorded
from hingeline.rig import parse_sheet
from hingeline.units import Side
from hingeline_calibration.arrays import mean_of_known
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, turn_about
from hingeline_calibration.motion import without_motion
from hingeline_calibration.still import summarise

_LEAST_LINES = 10
_MOTION_HZ = 10.0


class Plateau(NamedTuple):
    """A reading: of its lines, the first and the last."""

    start_s: float
    time_s: float
    deflection_deg: float
    position: str


@dataclass(frozen=True, eq=False)
class Course:
    """One side of a surface in one run, through the plateaus: the rests that were read.

    Attributes
    ----------
    time_s, deflection_deg : (N,)
        Since the first line.
    steady : (N,)
        Whether the sensor was at rest or turning slowly; else what it shows is no angle to rely on.
    length_mg : (M,)
        |gravity| - 1 g at each plateau.
    """

    surface: str
    command: str
    side: Side
    sensor_id: str
    time_s: Floats
    deflection_deg: Floats
    steady: Mask
    plateaus: tuple[Plateau, ...]
    length_mg: Floats


class _Read(NamedTuple):
    """What was read of one side, and how many of its samples there were by then."""

    position: str
    angle_deg: float
    samples: int


def courses(recorded: Recorded) -> Iterator[Course]:
    """Yield the course of each side of each surface that was read in a run; without its `SidesResult` there is none."""
    entries = recorded.entries
    starts = [index for index, entry in enumerate(entries) if isinstance(entry.result, SidesResult)]
    for start, end in zip(starts, [*starts, len(entries)][1:], strict=True):
        sides, before = entries[start]
        assert isinstance(sides, SidesResult)
        for side, seat in sides.sides.items():
            first = before.get(seat.sensor, 0)
            read = [
                _Read(result.position, judgement.measured.deg, samples.get(seat.sensor, 0) - first)
                for result, samples in entries[start:end]
                if isinstance(result, ThrowResult)
                for judgement in result.judgements
                if judgement.name == side
            ]
            if seat.sensor in recorded.calibrations and read and read[0].samples >= _LEAST_LINES:
                lines = recorded.lines[seat.sensor].between(first, first + read[-1].samples)
                if len(lines) == read[-1].samples:
                    yield _course(recorded, sides, side, lines, read)


def _course(recorded: Recorded, sides: SidesResult, side: Side, lines: Floats, read: list[_Read]) -> Course:
    """Lay a course through what was read."""
    seat, hold_s, fixed = sides.sides[side], recorded.hold_s, _fixed_part(recorded, sides)
    hinge, heading_deg = HingeAxis(seat.hinge), _heading_deg(recorded, sides.surface, side)
    instrument = Instrument(side, seat.sensor, recorded.calibrations[seat.sensor], hinge, fixed, heading_deg)
    to_neutral = lines[: read[0].samples]
    held = to_neutral[to_neutral[:, 0] > to_neutral[-1, 0] - hold_s]
    at_neutral = summarise(held[:, 0], held[:, 1:4], known(held[:, 4]))
    taken = track_of(instrument, at_neutral, lines[:, 0], lines[:, 1:4], mean_of_known(known(lines[:, 4])))
    deflection_deg = taken.deflection_deg
    if fixed is not None:
        lines_of_fixed = recorded.lines.get(fixed.sensor_id, Lines()).kept
        deflection_deg = deflection_deg - _motion_deg(taken, fixed, lines_of_fixed)
    ends_s = [taken.time_s[each.samples - 1] for each in read]
    rests = [(taken.time_s > end_s - hold_s) & (taken.time_s <= end_s) for end_s in ends_s]
    offsets_deg = [each.angle_deg - deflection_deg[rest].mean() for each, rest in zip(read, rests, strict=True)]
    start_s = taken.time_s[0]
    return Course(
        surface=sides.surface,
        command=recorded.run.command,
        side=side,
        sensor_id=seat.sensor,
        time_s=taken.time_s - start_s,
        deflection_deg=deflection_deg + np.mean(offsets_deg),
        steady=taken.steady,
        plateaus=tuple(
            Plateau(max(end_s - start_s - hold_s, 0.0), end_s - start_s, each.angle_deg, each.position)
            for each, end_s in zip(read, ends_s, strict=True)
        ),
        length_mg=np.array([1e3 * (np.linalg.norm(taken.gravity_g[rest].mean(axis=0)) - 1) for rest in rests]),
    )


def _heading_deg(recorded: Recorded, surface: str, side: Side) -> float:
    """How far the hinge of a side is turned from the fixed sensor's edge: by the sweep that the sheet gives."""
    try:
        sweep_deg = parse_sheet(recorded.sheet or "", "the recorded sheet").surface(surface).sweep_deg
    except (SheetError, UsageProblem):
        return 0.0
    return {"left": sweep_deg, "right": -sweep_deg}.get(side, 0.0)


def _fixed_part(recorded: Recorded, sides: SidesResult) -> FixedPart | None:
    """Find the sensor that took the model's motion out; runs of format 1 name it by its calibration alone."""
    name = sides.fixed
    if not name and recorded.fixed:
        seated = {seat.sensor for seat in sides.sides.values()}
        name = next((known for known in recorded.calibrations if known not in seated), "")
    calibration = recorded.calibrations.get(name)
    return None if calibration is None else FixedPart(name, calibration)


def _motion_deg(taken: Track, fixed: FixedPart, lines: Floats) -> Floats:
    """(N,) how far the model's own motion turned a sensor in each of its lines, from the first one on.

    A model moves slowly: that is computed `_MOTION_HZ` times a second, of smoothed lines.
    """
    if len(lines) < _LEAST_LINES:
        return np.zeros(taken.time_s.size)
    fixed_s = lines[:, 0]
    fixed_g = fixed.calibration.gravity_of_counts(lines[:, 1:4], mean_of_known(known(lines[:, 4])))
    at_s = np.arange(taken.time_s[0], taken.time_s[-1] + 1 / _MOTION_HZ, 1 / _MOTION_HZ)
    now_g, model_g = _at(at_s, taken.time_s, taken.gravity_g), _at(at_s, fixed_s, fixed_g)
    hinge, heading_deg = taken.instrument.hinge, taken.instrument.heading_deg

    def turned_deg(now: Floats, model: Floats) -> float:
        own, first, of_model = (Gravity(up, np.zeros((3, 3)), None, 0.0, 0.0) for up in (now, model_g[0], model))
        as_if = without_motion(own, first, of_model, fixed.calibration, hinge=hinge, heading_deg=heading_deg)
        return math.degrees(turn_about(hinge.direction, as_if.vector_g, now))

    return np.interp(taken.time_s, at_s, list(map(turned_deg, now_g, model_g)))


def _at(at_s: Floats, time_s: Floats, gravity_g: Floats) -> Floats:
    """(M, 3) smoothed gravity at some times (M,)."""
    smooth = (smoothed(axis, time_s, 2 / _MOTION_HZ) for axis in gravity_g.T)
    return np.column_stack([np.interp(at_s, time_s, axis) for axis in smooth])
