"""The watchdog: restarts a board whose program hangs, or does nothing but fail, while it streams.

Off unless configured, because nothing can stop it once it is armed. So the first `start` arms it, never the boot.
Ctrl-C then restarts the board: at the prompt the watchdog is never armed.
"""

import machine

TIMEOUT_MS = 8000
"""An RP2040 allows 8388 at most.

A sound board feeds at least every 6 s. A self-test takes longest: 5 s for a chip that measures seldom, and two lines
of answer, each delayed 0.5 s by a USB host that takes only a part. A step of the stream has at most 8 such lines, a
fault and a sample for each sensor, and 5 ms for each transaction on buses that hang.
"""

_CAUSES = (
    ("PWRON_RESET", "power"),
    ("HARD_RESET", "button"),
    ("WDT_RESET", "watchdog"),
    ("DEEPSLEEP_RESET", "sleep"),
    ("SOFT_RESET", "program"),
)
"""`machine`'s constants, of which no board has all, and the words of `about`."""


def reset_cause():
    """Why the board started, as a word of `about`."""
    cause = machine.reset_cause()
    for constant, word in _CAUSES:
        if cause == getattr(machine, constant, None):
            return word
    return "unknown"


class Watchdog:
    """The watchdog of the board; does nothing unless `wanted`."""

    def __init__(self, wanted):
        self._wanted = wanted
        self._wdt = None

    @property
    def state(self):
        """`off`, `ready` for the first `start`, or `armed`."""
        return "armed" if self._wdt is not None else "ready" if self._wanted else "off"

    def arm(self):
        """Watch from now on, until the board restarts."""
        if self._wanted and self._wdt is None:
            self._wdt = machine.WDT(timeout=TIMEOUT_MS)

    def feed(self):
        """Show that the program still runs."""
        if self._wdt is not None:
            self._wdt.feed()

    def leave(self):
        """Restart the board if it is armed: else it would do so later, in the midst of work at the prompt."""
        if self._wdt is not None:
            machine.reset()
