"""The course of a surface line by line, laid through what was read at its rests."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from hingeline.checks.results import SidesResult, ThrowResult
from hingeline.device.samples import Sample
from hingeline.errors import SheetError, UsageProblem
from hingeline.measure.pipeline import FixedPart, Instrument
from hingeline.measure.tracks import Floats, Mask, Track, smoothed, track
from hingeline.report.results import Recorded
from hingeline.rig import parse_sheet
from hingeline.storage.results import Entry
from hingeline.units import Side
from hingeline_calibration.arrays import mean_of_known
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, turn_about
from hingeline_calibration.motion import without_motion
from hingeline_calibration.still import summarise

_LEAST_LINES = 10
_MOTION_HZ = 10.0


@dataclass(frozen=True)
class Plateau:
    """A reading: of its lines, the first and the last."""

    start_s: float
    time_s: float
    deflection_deg: float
    position: str


@dataclass(frozen=True, eq=False)
class Course:
    """One side of a surface in one run.

    Attributes
    ----------
    time_s, deflection_deg : (N,)
        Since the first line.
    steady : (N,)
        Whether the sensor was at rest or turning slowly; else what it shows is no angle to rely on.
    plateaus
        The rests that were read.
    length_mg : (M,)
        |gravity| - 1 g at each of them.
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


def courses(recorded: Recorded) -> Iterator[Course]:
    """Yield the course of each side of each surface that was read in a run; without its `SidesResult` there is none."""
    entries = recorded.entries
    starts = [index for index, entry in enumerate(entries) if isinstance(entry.result, SidesResult)]
    for start, end in zip(starts, [*starts, len(entries)][1:], strict=True):
        sides = entries[start].result
        assert isinstance(sides, SidesResult)
        for side, seat in sides.sides.items():
            calibration = recorded.content.calibrations.get(seat.sensor)
            read = [entry for entry in entries[start:end] if _angle_deg(entry, side) is not None]
            first, *ends = (entry.samples.get(seat.sensor, 0) for entry in (entries[start], *read))
            if calibration is None or not ends or ends[0] - first < _LEAST_LINES:
                continue
            fixed = _fixed_part(recorded, sides)
            instrument = Instrument(
                side,
                seat.sensor,
                calibration,
                HingeAxis(seat.hinge),
                fixed,
                heading_deg=_heading_deg(recorded, sides.surface, side),
            )
            lines = recorded.samples[seat.sensor][first : ends[-1]]
            taken = _track(instrument, lines, ends[0] - first, recorded.content.hold_s)
            deflection_deg = taken.deflection_deg
            if fixed is not None:
                deflection_deg = deflection_deg - _motion_deg(
                    taken, fixed, recorded.samples.get(fixed.sensor_id, [])
                )
            of_course = sides.surface, recorded.run.command, recorded.content.hold_s
            yield _course(of_course, taken, deflection_deg, read, [end - first - 1 for end in ends])


def _heading_deg(recorded: Recorded, surface: str, side: Side) -> float:
    """How far the hinge of a side is turned from the fixed sensor's edge: by the sweep that the sheet gives."""
    try:
        sheet = parse_sheet(recorded.content.sheet or "", "the recorded sheet")
        sweep_deg = sheet.surface(surface).sweep_deg
    except (SheetError, UsageProblem):
        return 0.0
    return {"left": sweep_deg, "right": -sweep_deg}.get(side, 0.0)


def _fixed_part(recorded: Recorded, sides: SidesResult) -> FixedPart | None:
    """Find the sensor that took the model's motion out; runs of format 1 name it by its calibration alone."""
    content = recorded.content
    name = sides.fixed
    if not name and content.fixed:
        seated = {seat.sensor for seat in sides.sides.values()}
        name = next((known for known in content.calibrations if known not in seated), "")
    calibration = content.calibrations.get(name)
    return None if calibration is None else FixedPart(name, calibration)


def _motion_deg(taken: Track, fixed: FixedPart, samples: list[Sample]) -> Floats:
    """(N,) how far the model's own motion turned a sensor in each of its lines, from the first one on.

    A model moves slowly: that is computed `_MOTION_HZ` times a second, of smoothed lines.
    """
    if len(samples) < _LEAST_LINES:
        return np.zeros(taken.time_s.size)
    counts = np.array([sample.counts for sample in samples])
    temperature_c = mean_of_known(sample.temperature_c for sample in samples)
    fixed_s = np.array([sample.time_s for sample in samples])
    fixed_g = fixed.calibration.gravity_of_counts(counts, temperature_c)
    at_s = np.arange(taken.time_s[0], taken.time_s[-1] + 1 / _MOTION_HZ, 1 / _MOTION_HZ)
    now_g, model_g = _at(at_s, taken.time_s, taken.gravity_g), _at(at_s, fixed_s, fixed_g)
    first, instrument = _gravity(model_g[0]), taken.instrument
    turned_deg = [
        math.degrees(turn_about(instrument.hinge.direction, as_if.vector_g, now))
        for now, model in zip(now_g, model_g, strict=True)
        for as_if in (
            without_motion(
                *(_gravity(now), first, _gravity(model), fixed.calibration),
                hinge=instrument.hinge,
                heading_deg=instrument.heading_deg,
            ),
        )
    ]
    return np.interp(taken.time_s, at_s, turned_deg)


def _at(at_s: Floats, time_s: Floats, gravity_g: Floats) -> Floats:
    """(M, 3) smoothed gravity at some times (M,)."""
    smooth = (smoothed(axis, time_s, 2 / _MOTION_HZ) for axis in gravity_g.T)
    return np.column_stack([np.interp(at_s, time_s, axis) for axis in smooth])


def _gravity(vector_g: Floats) -> Gravity:
    return Gravity(vector_g, np.zeros((3, 3)), None, 0.0, 0.0)


def _course(
    of_course: tuple[str, str, float],
    taken: Track,
    deflection_deg: Floats,
    read: list[Entry],
    ends: list[int],
) -> Course:
    """Lay a course through the entries at which it was read, whose last lines have the indices `ends`."""
    surface, command, hold_s = of_course
    side = taken.instrument.side
    rests = [
        (taken.time_s > taken.time_s[end] - hold_s) & (taken.time_s <= taken.time_s[end]) for end in ends
    ]
    angles_deg = np.array([_angle_deg(entry, side) for entry in read], float)
    offset_deg = float(np.mean(angles_deg - [deflection_deg[rest].mean() for rest in rests]))
    time_s = taken.time_s - taken.time_s[0]
    lengths_g = [np.linalg.norm(taken.gravity_g[rest].mean(axis=0)) for rest in rests]
    return Course(
        surface=surface,
        command=command,
        side=side,
        sensor_id=taken.instrument.sensor_id,
        time_s=time_s,
        deflection_deg=deflection_deg + offset_deg,
        steady=taken.steady,
        plateaus=tuple(
            Plateau(
                max(float(time_s[end]) - hold_s, 0.0), float(time_s[end]), float(angle), entry.result.position
            )
            for end, angle, entry in zip(ends, angles_deg, read, strict=True)
            if isinstance(entry.result, ThrowResult)
        ),
        length_mg=1e3 * (np.array(lengths_g) - 1),
    )


def _track(instrument: Instrument, lines: list[Sample], count: int, hold_s: float) -> Track:
    """The track of some lines; the reading that ends after the first `count` stands for neutral."""
    last_s = lines[count - 1].time_s
    held = [sample for sample in lines[:count] if sample.time_s > last_s - hold_s]
    reading = summarise(
        [sample.time_s for sample in held],
        [sample.counts for sample in held],
        [sample.temperature_c for sample in held],
    )
    return track(instrument, reading, tuple(lines))


def _angle_deg(entry: Entry, side: Side) -> float | None:
    """What was read of one side."""
    if not isinstance(entry.result, ThrowResult):
        return None
    return next((each.measured.deg for each in entry.result.judgements if each.name == side), None)
