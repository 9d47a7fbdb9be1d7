"""The chips' own self-test: a force inside the chip moves its mass, and the counts must change."""

import time

STILL_ERRNO = 110
"""ETIMEDOUT: the number reported for a chip that answers and measures nothing."""
READINGS = 32
_SETTLE_MS = 100
_PATIENCE_MS = 1000


def measure_response(chip, registers, register, off, on):
    """Measure how far the means of x, y and z move, in counts, when `register` goes from `off` to `on`.

    Raises
    ------
    OSError
        The chip does not answer, or measures nothing.
    """
    quiet = _read_sums(chip, registers, register, off)
    moved = _read_sums(chip, registers, register, on)
    registers.put(register, off)
    return [(b - a) // READINGS for a, b in zip(quiet, moved)]


def _read_sums(chip, registers, register, value):
    registers.put(register, value)
    time.sleep_ms(_SETTLE_MS)
    sums = [0, 0, 0]
    chip.read([0, 0, 0])  # this measurement may be older than the force
    count = 0
    for _ in range(_PATIENCE_MS):
        count += chip.read(sums)
        if count == READINGS:
            return sums
        time.sleep_ms(1)
    raise OSError(STILL_ERRNO)
