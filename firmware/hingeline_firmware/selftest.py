"""The chips' own self-test: a force inside the chip moves its mass, and the counts must follow."""

import time

STILL_ERRNO = 110
"""ETIMEDOUT: the number of a chip that answers and measures nothing."""
READINGS = 32
_SETTLE_MS = 100
_PATIENCE_MS = 1000


def response(chip, registers, register, off, on):
    """Return how far the mean of x, y and z moves, in counts, when `register` goes from `off` to `on`.

    Raises
    ------
    OSError
        The chip does not answer, or measures nothing.
    """
    quiet = _sums(chip, registers, register, off)
    moved = _sums(chip, registers, register, on)
    registers.put(register, off)
    return [(b - a) // READINGS for a, b in zip(quiet, moved)]


def _sums(chip, registers, register, value):
    registers.put(register, value)
    time.sleep_ms(_SETTLE_MS)
    sums = [0, 0, 0]
    chip.read([0, 0, 0])  # measured before the force changed
    taken = 0
    for _ in range(_PATIENCE_MS):
        taken += chip.read(sums)
        if taken == READINGS:
            return sums
        time.sleep_ms(1)
    raise OSError(STILL_ERRNO)
