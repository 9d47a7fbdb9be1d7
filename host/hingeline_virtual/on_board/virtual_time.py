# mypy: ignore-errors
"""The `time` of a virtual board: its clock wraps like a 32-bit board's."""

import os
from time import *  # noqa: F403

import transactions

_PERIOD = 1 << 30
_TICK_COST_US = 1
_first_us = int(os.getenv("HINGELINE_FIRST_TICKS_US"))


def ticks_us():
    """Microseconds, modulo 2**30."""
    transactions.spend(_TICK_COST_US)
    return (_first_us + transactions.clock_us) & (_PERIOD - 1)


def ticks_ms():
    """Milliseconds, modulo 2**30."""
    transactions.spend(_TICK_COST_US)
    return (_first_us + transactions.clock_us) // 1000 & (_PERIOD - 1)


def ticks_add(ticks, delta):
    """`ticks` plus `delta`, wrapped."""
    return (ticks + delta) & (_PERIOD - 1)


def ticks_diff(later, earlier):
    """`later` - `earlier`, from -2**29 up to 2**29 - 1."""
    return (later - earlier + (_PERIOD >> 1) & (_PERIOD - 1)) - (_PERIOD >> 1)


def sleep_us(wait_us):
    """Sleep for microseconds."""
    transactions.sleep(wait_us)


def sleep_ms(wait_ms):
    """Sleep for milliseconds."""
    transactions.sleep(wait_ms * 1000)


def sleep(wait_s):
    """Sleep for seconds."""
    transactions.sleep(int(wait_s * 1000000))
