"""The course of a surface line by line, laid through what was read at its rests."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from hingeline.checks.results import SidesResult, ThrowResult
from hingeline.device.samples import Sample
from hingeline.measure.capture import HOLD_S
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Floats, Mask, Track, track
from hingeline.report.results import Recorded
from hingeline.storage.results import Entry
from hingeline.units import Side
from hingeline_calibration.hinge import HingeAxis
from hingeline_calibration.still import summarise

_LEAST_LINES = 10


@dataclass(frozen=True)
class Plateau:
    """A rest that was read: its lines end at `time_s`."""

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
    """Yield the course of each side of each surface that was read in a run; without `Sides` there is none."""
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
            one = Instrument(side, seat.sensor, calibration, HingeAxis(seat.hinge))
            lines = recorded.samples[seat.sensor][first : ends[-1]]
            seen = _track(one, lines, ends[0] - first)
            yield _course(sides.surface, recorded.run.command, seen, read, [end - first - 1 for end in ends])


def _course(surface: str, command: str, seen: Track, read: list[Entry], ends: list[int]) -> Course:
    """Return a course of the entries at which it was read, whose last lines have the indices `ends`."""
    one = seen.instrument
    rests = [(seen.time_s > seen.time_s[end] - HOLD_S) & (seen.time_s <= seen.time_s[end]) for end in ends]
    angles_deg = np.array([_angle_deg(entry, one.side) for entry in read], float)
    offset_deg = float(np.mean(angles_deg - [seen.deflection_deg[rest].mean() for rest in rests]))
    time_s = seen.time_s - seen.time_s[0]
    lengths_g = [np.linalg.norm(seen.gravity_g[rest].mean(axis=0)) for rest in rests]
    return Course(
        surface=surface,
        command=command,
        side=one.side,
        sensor_id=one.sensor_id,
        time_s=time_s,
        deflection_deg=seen.deflection_deg + offset_deg,
        steady=seen.steady,
        plateaus=tuple(
            Plateau(float(time_s[end]), float(angle), entry.result.position)
            for end, angle, entry in zip(ends, angles_deg, read, strict=True)
            if isinstance(entry.result, ThrowResult)
        ),
        length_mg=1e3 * (np.array(lengths_g) - 1),
    )


def _track(one: Instrument, lines: list[Sample], count: int) -> Track:
    """Return the track of some lines; the rest that ends after the first `count` stands for neutral."""
    last_s = lines[count - 1].time_s
    rest = [sample for sample in lines[:count] if sample.time_s > last_s - HOLD_S]
    window = summarise(
        [sample.time_s for sample in rest],
        [sample.counts for sample in rest],
        [sample.temperature_c for sample in rest],
    )
    return track(one, window, tuple(lines))


def _angle_deg(entry: Entry, side: Side) -> float | None:
    """Return what was read of one side."""
    if not isinstance(entry.result, ThrowResult):
        return None
    return next((each.measured.deg for each in entry.result.judgements if each.name == side), None)
