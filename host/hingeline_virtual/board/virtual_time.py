# mypy: ignore-errors
"""What the firmware imports as `time` on a virtual board: a clock that wraps like a 32-bit board's."""

import os
from time import *  # noqa: F403

import wire

_PERIOD = 1 << 30
_TICK_COST_US = 1
_first_us = int(os.getenv("HINGELINE_FIRST_TICKS_US"))


def ticks_us():
    """Microseconds, modulo 2**30."""
    wire.spend(_TICK_COST_US)
    return (_first_us + wire.clock_us) & (_PERIOD - 1)


def ticks_ms():
    """Milliseconds, modulo 2**30."""
    wire.spend(_TICK_COST_US)
    return (_first_us + wire.clock_us) // 1000 & (_PERIOD - 1)


def ticks_add(ticks, delta):
    """Return `ticks` moved by `delta`."""
    return (ticks + delta) & (_PERIOD - 1)


def ticks_diff(later, earlier):
    """Return `later` - `earlier`, from -2**29 up to 2**29 - 1."""
    return (later - earlier + (_PERIOD >> 1) & (_PERIOD - 1)) - (_PERIOD >> 1)


def sleep_us(wait_us):
    """Sleep for microseconds."""
    wire.sleep(wait_us)


def sleep_ms(wait_ms):
    """Sleep for milliseconds."""
    wire.sleep(wait_ms * 1000)


def sleep(wait_s):
    """Sleep for seconds."""
    wire.sleep(int(wait_s * 1000000))
