"""Where the sound goes: a sound device, or the bell of the terminal where there is none."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager, suppress
from time import perf_counter

from hingeline.live.sound.tones import RATE_HZ, Voice
from hingeline.procedures.state import State

BUFFER_MS = 40


class Device:
    """A sound device, through miniaudio; raises `miniaudio.MiniaudioError` if there is none."""

    beats = 1

    def __init__(self) -> None:
        import miniaudio

        voice = Voice()
        self.show = voice.show
        with _hushed():
            self._device = miniaudio.PlaybackDevice(
                output_format=miniaudio.SampleFormat.FLOAT32,
                nchannels=2,
                sample_rate=RATE_HZ,
                buffersize_msec=BUFFER_MS,
            )
            stream = _stream(voice)
            next(stream)
            self._device.start(stream)
        self.close = self._device.close


def _stream(voice: Voice) -> Generator[bytes, int, None]:
    frames = yield b""
    while True:
        frames = yield voice.render(frames).tobytes()


class Bell:
    """The bell of the terminal: it has one pitch, so the rhythm tells.

    One stroke a second: a match. Two at once: captured. Four a second: a sensor does not measure. What is off is
    silent: the screen and the spoken words tell it. `ring` rings once, `now_s` is a monotonic clock.
    """

    beats = 1
    MATCH_S, ALARM_S = 1.0, 0.25

    def __init__(self, ring: Callable[[], None], now_s: Callable[[], float] = perf_counter) -> None:
        self._ring, self._now_s = ring, now_s
        self._captured = 0
        self._due_s = float("-inf")

    def show(self, state: State) -> None:
        """Ring if it is time."""
        if state.taken > self._captured:
            self._captured = state.taken
            self._ring()
            self._ring()
        match = bool(state.gaps) and all(gap.inside for gap in state.gaps)
        if (state.alarms or match) and self._now_s() >= self._due_s:
            self._ring()
            self._due_s = self._now_s() + (self.ALARM_S if state.alarms else self.MATCH_S)

    def close(self) -> None:
        """Nothing to end."""


def open_sound(ring: Callable[[], None]) -> Device | Bell:
    """Open the sound device; without one, use the bell of the terminal."""
    with suppress(ImportError):
        import miniaudio

        with suppress(miniaudio.MiniaudioError):
            return Device()
    return Bell(ring)


@contextmanager
def _hushed() -> Iterator[None]:
    """Keep what Linux's sound libraries write to descriptor 2 off the screen; those of other systems write nothing."""
    if sys.platform != "linux":
        yield
        return
    kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
