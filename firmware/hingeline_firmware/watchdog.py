"""The watchdog: restarts a board whose program hangs, or does nothing but fail, while it streams.

Off unless the configuration says otherwise, because nothing can stop it once it is armed. So it is armed by the first
`start`, never at boot, and whoever presses Ctrl-C then gets a restarted board: at the prompt it is never armed.
"""

import machine

TIMEOUT_MS = 8000
"""An RP2040 takes 8388 at most.

The longest a board that is well goes without feeding is 6 s: a self-test, 5 s of a chip that measures seldom, and its
answer of two lines, each held up for 0.5 s by a USB host that takes a part of it and no more. A step of the stream has
at most 8 such lines, a fault and a sample a sensor, and 5 ms a transaction on buses that hang.
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
    """Return why the board started, in a word of `about`."""
    cause = machine.reset_cause()
    for constant, word in _CAUSES:
        if cause == getattr(machine, constant, None):
            return word
    return "unknown"


class Watchdog:
    """The board's one watchdog; does nothing unless it is `wanted`."""

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
        """Tell it that the program goes on."""
        if self._wdt is not None:
            self._wdt.feed()

    def leave(self):
        """Restart the board if it is armed: it would bite whoever works at the prompt."""
        if self._wdt is not None:
            machine.reset()
