"""Which addresses asked without the key, and how often: who guesses is not listened to for a while."""

from __future__ import annotations

import ipaddress
import threading
from collections import OrderedDict, deque
from collections.abc import Callable
from time import perf_counter

MOST_WRONG, WRONG_S = 10, 60.0
"""So many requests without the key within so long, and the address waits until they are as long ago."""
MOST_ADDRESSES = 1000
"""Of more, those that were quiet for longest are forgotten."""


class Attempts:
    """Counts requests without the key, by address; of IPv6 by network, for a computer has as many as it likes there."""

    def __init__(self, now_s: Callable[[], float] = perf_counter) -> None:
        self._now_s = now_s
        self._wrong_s: OrderedDict[str, deque[float]] = OrderedDict()
        self._turn = threading.Lock()

    def note_wrong(self, address: str) -> None:
        """Note a request without the key."""
        network = _network(address)
        with self._turn:
            self._wrong_s.setdefault(network, deque(maxlen=MOST_WRONG)).append(self._now_s())
            self._wrong_s.move_to_end(network)
            while len(self._wrong_s) > MOST_ADDRESSES:
                self._wrong_s.popitem(last=False)

    def is_guessing(self, address: str) -> bool:
        """Whether an address asked without the key too often of late."""
        with self._turn:
            times_s = self._wrong_s.get(_network(address), deque[float]())
            return len(times_s) == MOST_WRONG and self._now_s() - times_s[0] < WRONG_S


def _network(address: str) -> str:
    known = ipaddress.ip_address(address.partition("%")[0])
    return str(known if known.version == 4 else ipaddress.ip_network((known, 64), strict=False))
