"""The clock of this computer, as it was set since the computer was started: how a date reads by the clock as it is now.

A computer without a battery begins with an old date, until a network tells it the true one: by years, in the midst of a
session. How long ago it was started, it knows all the same (Linux; elsewhere dates stay as they are).
"""

from __future__ import annotations

import sys
import time
from contextlib import suppress
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

from hingeline.errors import StoreError
from hingeline.storage.store import Store, same_session

SETTINGS = "clock"
"""The key of the store's settings under which is kept how the clock was set."""
SET_S = 60.0
"""A clock that goes off by more was set: a network's time moves it by less at once; common practice, no source."""
_START = Path("/proc/sys/kernel/random/boot_id")
"""Another text after each start of the computer: random(4)."""


class Setting(NamedTuple):
    """One way the clock was set: `since_s` after the computer's start, and what it shows more than the time since."""

    since_s: float
    ahead_s: float


def note_clock(store: Store) -> None:
    """Keep how the clock is set, where that is not known yet. What can't be kept changes nothing."""
    if sys.platform != "linux" or not store.root.exists():
        return
    with suppress(OSError, StoreError):
        start, since_s = _START.read_text("ascii").strip(), time.clock_gettime(time.CLOCK_BOOTTIME)
        kept = store.find("settings", SETTINGS) or {}
        settings = _settings(kept) if kept.get("start") == start else ()
        ahead_s = time.time() - since_s
        if not settings or abs(ahead_s - settings[-1].ahead_s) > SET_S:
            payload = {"start": start, "settings": [*settings, Setting(since_s, ahead_s)]}
            store.save("settings", SETTINGS, payload)


def as_set_now(store: Store, date: str) -> str:
    """A date, ISO 8601, as the clock that is set now would have told it, if it was told since the computer's start.

    Another date, and what is none, stays as it is. Raises as `Store.find`.
    """
    settings = _settings(store.find("settings", SETTINGS) or {})
    try:
        then = datetime.fromisoformat(date)
        for setting, following in pairwise(settings):
            since_s = then.timestamp() - setting.ahead_s
            if setting.since_s - SET_S <= since_s < following.since_s:
                return (then + timedelta(seconds=settings[-1].ahead_s - setting.ahead_s)).isoformat()
    except (ValueError, TypeError, OverflowError):
        pass
    return date


def is_of_session(store: Store, then: str, now: str) -> bool:
    """Whether two dates are of one session, `now` by the clock as it is set now. Raises as `as_set_now`."""
    return same_session(as_set_now(store, then), now)


def _settings(kept: dict[str, Any]) -> tuple[Setting, ...]:
    with suppress(TypeError, ValueError):
        return tuple(Setting(float(since_s), float(ahead_s)) for since_s, ahead_s in kept.get("settings", ()))
    return ()
