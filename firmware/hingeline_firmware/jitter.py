"""How unevenly lines begin that are due at even intervals."""


class Jitter:
    """The interarrival jitter of RFC 3550 (section 6.4.1 and appendix A.8): in integers, nothing on the heap.

    Attributes
    ----------
    worst_us
        The largest deviation of an interval since `begin`.
    """

    def __init__(self):
        self.begin()

    def begin(self):
        """Start again from zero."""
        self._behind_us = 0
        self._sixteenths = 0
        self.worst_us = 0

    def note(self, behind_us):
        """Note how long after its due time a line began."""
        off_us = abs(behind_us - self._behind_us)
        self._behind_us = behind_us
        self._sixteenths += off_us - ((self._sixteenths + 8) >> 4)
        self.worst_us = max(self.worst_us, off_us)

    @property
    def mean_us(self):
        """The mean deviation of the intervals; the last sixteen weigh most."""
        return self._sixteenths >> 4
