"""The board's LED: which board this is, whether it streams, whether a sensor is wrong. Off where there is none."""

from time import ticks_add, ticks_diff, ticks_ms

from machine import Pin

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

_CYCLE_MS = 1000
_FLASH_MS = 50
_FAULT_MS = 500
_IDENTIFY_MS = 100


class Led:
    """The LED of a pin map's `led`: its pin and the level that lights it; None for none.

    It blinks fast while the board is identified, slowly while a sensor is wrong, and flashes once a second while lines
    are sent.
    """

    def __init__(self, row):
        self._pin = None
        self._lights = False
        self._identify_ms = None
        if row is not None:
            self._lit = row["lit"]
            try:
                self._pin = Pin(row["pin"], Pin.OUT, value=1 - self._lit)
            except (OSError, TypeError, ValueError):
                pass  # this MicroPython knows no such pin: the board works without

    def identify(self, seconds):
        """Blink for so long."""
        self._identify_ms = ticks_add(ticks_ms(), 1000 * seconds)

    def step(self, streams, wrong):
        """Light it or not, as it is due now."""
        if self._pin is None:
            return
        now_ms: "Any" = ticks_ms()
        if self._identify_ms is not None and ticks_diff(self._identify_ms, now_ms) <= 0:
            self._identify_ms = None
        phase_ms = now_ms % _CYCLE_MS
        if self._identify_ms is not None:
            lights = phase_ms // _IDENTIFY_MS % 2 == 0
        elif wrong:
            lights = phase_ms < _FAULT_MS
        else:
            lights = streams and phase_ms < _FLASH_MS
        if lights != self._lights:
            self._lights = lights
            self._pin.value(self._lit if lights else 1 - self._lit)
