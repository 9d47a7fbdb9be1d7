"""The chips' own self-test: a force inside the chip moves its mass, and the counts must change."""

import time

from hingeline_firmware.registers import SetupError

STILL_ERRNO = 110
"""ETIMEDOUT: the number reported for a chip that answers and measures nothing."""
READINGS = 32
_SETTLE_MS = 100
_PATIENCE_MS = 1000
_FEW = 8
_SHORT_MS = 100


def measure_response(chip, put, register, off, on):
    """Measure how far the means of x, y and z move, in counts, when `put` writes `on` into `register` after `off`.

    Raises
    ------
    OSError
        The chip does not answer, or measures nothing.
    """
    put(register, off)
    quiet = _read_sums(chip)
    put(register, on)
    moved = _read_sums(chip)
    put(register, off)
    return [(b - a) // READINGS for a, b in zip(quiet, moved)]


def tell_apart(chip, counts_per_g):
    """Tell chips with one identity apart by the length of gravity; `counts_per_g` by name, each at least twice another.

    Raises
    ------
    OSError, SetupError
        The chip does not answer; it moves, so gravity is not measured.
    """
    length = sum([(counts // _FEW) ** 2 for counts in _read_sums(chip, _FEW, _SHORT_MS)])
    for name in counts_per_g:
        if (counts_per_g[name] * 4 // 5) ** 2 < length < (counts_per_g[name] * 6 // 5) ** 2:
            return name
    raise SetupError("its identity is that of %s: keep it still, then ask again" % " and ".join(sorted(counts_per_g)))


def _read_sums(chip, readings=READINGS, patience_ms=_PATIENCE_MS):
    time.sleep_ms(_SETTLE_MS)
    sums = [0, 0, 0]
    chip.read([0, 0, 0])  # this measurement may be older than the force
    count = 0
    for _ in range(patience_ms):
        count += chip.read(sums)
        if count == readings:
            return sums
        time.sleep_ms(1)
    raise OSError(STILL_ERRNO, "still")
