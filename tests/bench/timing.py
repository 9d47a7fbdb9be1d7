"""Times of several ways, taken in turn so that all meet the same machine."""

from __future__ import annotations

import gc
from collections.abc import Callable
from time import process_time

import numpy as np
from tests.bench.rows import Row

Action = Callable[[], object]
Clock = Callable[[], float]


def in_turn(actions: tuple[Action, ...], repetitions: int, clock: Clock) -> list[list[float]]:
    """Return the times in seconds of each action, one after the other, again and again; once before untimed."""
    for action in actions:
        action()
    times: list[list[float]] = [[] for _ in actions]
    gc.collect()
    gc.disable()
    for _ in range(repetitions):
        for action, taken in zip(actions, times, strict=True):
            began = clock()
            action()
            taken.append(clock() - began)
    gc.enable()
    return times


def spread(values: list[float]) -> float:
    """Return half of the interquartile range over the median."""
    low, middle, high = np.quantile(values, (0.25, 0.5, 0.75))
    return float((high - low) / 2 / middle)


def rates(
    what: str,
    unit: str,
    count: int,
    ours: Action,
    peers: dict[str, Action],
    *,
    at_least: dict[str, float],
    repetitions: int,
) -> list[Row]:
    """Return a row a peer: how many of `count` things a second, the median."""
    mine, *others = in_turn((ours, *peers.values()), repetitions, process_time)
    return [
        Row(
            what,
            count / float(np.median(mine)),
            unit,
            peer,
            count / float(np.median(theirs)),
            at_least=at_least.get(peer),
            spread=spread([b / a for a, b in zip(mine, theirs, strict=True)]),
        )
        for peer, theirs in zip(peers, others, strict=True)
    ]


def times(
    what: str,
    unit: str,
    per_s: float,
    ours: Action,
    *,
    peer: str,
    theirs: Action,
    at_most: float,
    repetitions: int,
    clock: Clock = process_time,
) -> Row:
    """Return the row of two times, the medians, `per_s` units a second."""
    mine, other = in_turn((ours, theirs), repetitions, clock)
    return Row(
        what,
        float(np.median(mine)) * per_s,
        unit,
        peer,
        float(np.median(other)) * per_s,
        at_most=at_most,
        spread=spread([a / b for a, b in zip(mine, other, strict=True)]),
    )
