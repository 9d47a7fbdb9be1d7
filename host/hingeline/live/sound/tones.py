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
_PAN, _BOTH_EARS = {"left": (1.0, 0.25), "right": (0.25, 1.0)}, (1.0, 1.0)


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
    """Of a gap outside its tolerance: the further off, the further from `MATCH_HZ`, above where more is wanted."""
    share = min(1.0, math.log(max(gap.tolerances, 1.0)) / math.log(_FAR_TOLERANCES))
    semitones = _NEAR_SEMITONES + share * (_FAR_SEMITONES - _NEAR_SEMITONES)
    return MATCH_HZ * 2 ** ((semitones if gap.word in ("MORE", "LOW") else -semitones) / 12)


class Voice:
    """Turns the states it is shown into one wave without breaks, of `RATE_HZ` samples a second."""

    def __init__(self) -> None:
        self._state: State | None = None
        self._before: State | None = None
        self._signal: deque[tuple[float, int]] = deque()  # pitch, and frames that are left
        self._phase = 0.0
        self._hz = 0.0
        self._clock_frames = 0
        self._loudness = 0.0

    def show(self, state: State) -> None:
        """Sound this from now on; may be called from another thread than `render`."""
        self._state = state

    def render(self, frames: int) -> Floats:
        """Render the next (frames, 2) samples, left and right."""
        parts = [np.zeros((0, 2), np.float32)]
        while frames > 0:
            self._line_up_signals()
            hz, pan, most = self._tone()
            parts.append(self._wave(hz, pan, min(frames, most)))
            frames -= len(parts[-1])
        return np.concatenate(parts)

    def _line_up_signals(self) -> None:
        """Line up the signals of what has happened since the last state."""
        state, before = self._state, self._before
        self._before = state
        notes: tuple[Note, ...] = ()
        if state and before and state.taken > before.taken:
            notes += CAPTURED
        if state and before and state.taken_back > before.taken_back:
            notes += TAKEN_BACK
        if state and state.alarms and not (notes or self._signal):
            notes = ALARM
        self._signal.extend((note.hz, round(note.lasts_s * RATE_HZ)) for note in notes)

    def _tone(self) -> tuple[float, tuple[float, float], int]:
        """Pitch in Hz (0 for silence), loudness of left and right, and for how many frames at most."""
        if self._signal:
            hz, frames = self._signal[0]
            return hz, _BOTH_EARS, frames
        gaps = self._state.gaps if self._state else ()
        if not gaps:
            return 0.0, _BOTH_EARS, RATE_HZ
        worst = max(gaps, key=lambda gap: gap.tolerances)
        if worst.inside:
            return MATCH_HZ, _BOTH_EARS, RATE_HZ
        period, sounding = round(_PULSE_S * RATE_HZ), round(_SOUNDING * _PULSE_S * RATE_HZ)
        place, pan = self._clock_frames % period, _PAN.get(worst.side, _BOTH_EARS)
        return (pitch_hz(worst), pan, sounding - place) if place < sounding else (0.0, pan, period - place)

    def _wave(self, hz: float, pan: tuple[float, float], frames: int) -> Floats:
        self._hz = hz or self._hz  # a tone that ends fades at its own pitch
        turn = 2 * math.pi * self._hz / RATE_HZ
        wave = np.sin(self._phase + turn * np.arange(1, frames + 1))
        self._phase = (self._phase + turn * frames) % (2 * math.pi)
        self._clock_frames += frames
        if self._signal:
            pitch, left = self._signal.popleft()
            if left > frames:
                self._signal.appendleft((pitch, left - frames))
        return np.asarray((wave * self._ramp(_LOUDNESS if hz else 0.0, frames))[:, None] * np.array(pan), np.float32)

    def _ramp(self, to: float, frames: int) -> NDArray[np.float64]:
        """Loudness (frames,) that changes slowly enough not to click."""
        way = np.arange(1, frames + 1) * _LOUDNESS / (_RAMP_S * RATE_HZ)
        loudness = self._loudness + np.minimum(way, abs(to - self._loudness)) * math.copysign(1, to - self._loudness)
        self._loudness = float(loudness[-1])
        return np.asarray(loudness)
