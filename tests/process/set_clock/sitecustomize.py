"""A computer whose clock was set: Python that finds this first shows the time HINGELINE_AHEAD_S later.

How long ago the computer was started stays as it is, as on a real one.
"""

import datetime
import os
import time

AHEAD_S = float(os.environ["HINGELINE_AHEAD_S"])
_time_s = time.time


class Set(datetime.datetime):
    """A date whose now is the clock's."""

    @classmethod
    def now(cls, tz=None):
        return cls.fromtimestamp(time.time(), tz)


time.time = lambda: _time_s() + AHEAD_S
datetime.datetime = Set
