"""Pictures as sound: samples of a wave, stereo, from -1 to 1.

The side that is furthest from its target, counted in tolerances, sounds. Inside the tolerance the tone is steady
at `MATCH_HZ`. Outside it is broken: above `MATCH_HZ` where more is wanted, below where less, the further the more.
What is not known is silent, and silence is never a match.
"""

from __future__ import annotations

import math
from collections import deque
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from hingeline.procedures.state import Gap, State

Floats = NDArray[np.float32]

RATE_HZ = 44_100
MATCH_HZ = 440.0
"""ISO 16: the tuning frequency, note A4."""
_NEAR_SEMITONES, _FAR_SEMITONES = 3.0, 12.0
_FAR_TOLERANCES = 20.0
"""So many tolerances off the tone is an octave away, and goes no further."""
_PULSE_S, _SOUNDING = 0.25, 0.6
_LOUDNESS = 0.3
_RAMP_S = 0.005
"""A tone that starts or ends at once would click."""
_PAN = {"left": (1.0, 0.25), "right": (0.25, 1.0)}


class Note(NamedTuple):
    """A tone of a signal; 0 Hz is a pause."""

    hz: float
    lasts_s: float


CAPTURED = (Note(1046.5, 0.09), Note(1318.5, 0.09), Note(1568.0, 0.16))
"""Rises: C6, E6, G6 of the equal temperament on 440 Hz."""
TAKEN_BACK = (Note(1318.5, 0.09), Note(1046.5, 0.16))
ALARM = (Note(1760.0, 0.12), Note(0, 0.06), Note(1760.0, 0.12), Note(0, 0.06), Note(220.0, 0.24))
"""Two high notes and one three octaves below, again and again while a sensor does not measure."""


def pitch_hz(gap: Gap) -> float:
    """Further off in tolerances is further from `MATCH_HZ`: above where more is wanted."""
    if gap.inside:
        return MATCH_HZ
    share = min(1.0, math.log(max(gap.tolerances, 1.0)) / math.log(_FAR_TOLERANCES))
    semitones = _NEAR_SEMITONES + share * (_FAR_SEMITONES - _NEAR_SEMITONES)
    return MATCH_HZ * 2 ** ((semitones if gap.word in ("MORE", "LOW") else -semitones) / 12)


class Voice:
    """Turns the states it is shown into one wave without breaks.

    Parameters
    ----------
    rate_hz
        Samples a second.
    """

    def __init__(self, rate_hz: int = RATE_HZ) -> None:
        self._rate_hz = rate_hz
        self._state: State | None = None
        self._before: State | None = None
        self._signal: deque[Note] = deque()
        self._note_frames = 0
        self._phase = 0.0
        self._hz = 0.0
        self._clock_frames = 0
        self._loudness = 0.0

    def show(self, state: State) -> None:
        """Sound this from now on; may be called from another thread than `render`."""
        self._state = state

    def render(self, frames: int) -> Floats:
        """Render the next (frames, 2) samples, left and right."""
        parts, left = [], frames
        while left > 0:
            self._notice()
            hz, pan, most = self._tone()
            count = min(left, most)
            parts.append(self._wave(hz, pan, count))
            left -= count
        return np.concatenate(parts) if parts else np.zeros((0, 2), np.float32)

    def _notice(self) -> None:
        """Line up the signals of what has happened since the last state."""
        state, before = self._state, self._before
        self._before = state
        if state is None:
            return
        if before is not None and state.taken > before.taken:
            self._signal.extend(CAPTURED)
        if before is not None and state.taken_back > before.taken_back:
            self._signal.extend(TAKEN_BACK)
        if state.alarms and not self._signal:
            self._signal.extend(ALARM)

    def _tone(self) -> tuple[float, tuple[float, float], int]:
        """Pitch in Hz (0 for silence), loudness of left and right, and for how many frames at most."""
        if self._signal:
            note = self._signal[0]
            rest = round(note.lasts_s * self._rate_hz) - self._note_frames
            return note.hz, (1.0, 1.0), rest
        gaps = self._state.gaps if self._state else ()
        if not gaps:
            return 0.0, (1.0, 1.0), self._rate_hz
        worst = max(gaps, key=lambda gap: gap.tolerances)
        hz = pitch_hz(worst)
        if worst.inside:
            return hz, (1.0, 1.0), self._rate_hz
        period = round(_PULSE_S * self._rate_hz)
        place, sounding = self._clock_frames % period, round(_SOUNDING * period)
        pan = _PAN.get(worst.side, (1.0, 1.0))
        return (hz, pan, sounding - place) if place < sounding else (0.0, pan, period - place)

    def _wave(self, hz: float, pan: tuple[float, float], frames: int) -> Floats:
        self._hz = hz or self._hz  # a tone that ends fades at its own pitch
        turn = 2 * math.pi * self._hz / self._rate_hz
        wave = np.sin(self._phase + turn * np.arange(1, frames + 1))
        self._phase = (self._phase + turn * frames) % (2 * math.pi)
        loudness = self._ramp(_LOUDNESS if hz else 0.0, frames)
        self._clock_frames += frames
        if self._signal:
            self._note_frames += frames
            if self._note_frames >= round(self._signal[0].lasts_s * self._rate_hz):
                self._signal.popleft()
                self._note_frames = 0
        return np.asarray((wave * loudness)[:, None] * np.array(pan), np.float32)

    def _ramp(self, to: float, frames: int) -> NDArray[np.float64]:
        """Loudness (frames,) that changes slowly enough not to click."""
        step = _LOUDNESS / (_RAMP_S * self._rate_hz)
        way = np.arange(1, frames + 1) * step
        reached = np.minimum(self._loudness + way, to) if to >= self._loudness else np.maximum(self._loudness - way, to)
        self._loudness = float(reached[-1])
        return np.asarray(reached)
