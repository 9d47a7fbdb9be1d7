"""Corrupted lines by the million through the host's splitter and decoder, with the books of what was done to them."""

from __future__ import annotations

import os
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from random import Random
from typing import NamedTuple

from tests.faults.cable import FAULTS, Spoiler

from hingeline.device.link.decoder import Decoder, Line, Splitter
from hingeline.device.samples import Sample
from hingeline_protocol.line import seal
from hingeline_protocol.messages import SAMPLE_FORMAT, SEQUENCE_PERIOD, TICKS_PERIOD_US, Board, Sensor, pack

CORRUPTING = tuple(name for name in FAULTS if name not in ("drop", "duplicate"))
INTRODUCTION = (
    Board(1, 1, "0.1.0", "pico", "a1", 1),
    Sensor(1, 104, "mpu6050", 0, 104, 16384, 200, 44, "absolute", "ok"),
)
SHARE = 0.98
"""Of the lines, how many are corrupted: the sound ones between them keep the count of what is lost unambiguous."""


class Books(NamedTuple):
    """What was done to lines, or what a decoder made of them; sums over runs."""

    accepted: int
    bad: int
    lost: int
    repeated: int
    unknown: int


class Run(NamedTuple):
    """Corruptions by their kind, pieces wrongly accepted, and both sides' books, which are to be the same."""

    done: Counter[str]
    wrong: int
    books: Books
    decoder: Books


def corrupt(seed: int, corruptions: int) -> Run:
    """Corrupt so many lines and decode what comes of them."""
    spoiler, values = Spoiler(seed, SHARE, CORRUPTING), Random(~seed)
    splitter, decoder = Splitter(), Decoder("wire")
    for message in INTRODUCTION:
        decoder.decode(Line("wire", 0, pack(message)[:-1]))
    accepted = wrong = sequence = 0
    own = [b"", b""]

    def send(readings: int) -> None:
        nonlocal accepted, wrong, sequence
        ticks_us = sequence * 20_000 % TICKS_PERIOD_US
        axes = values.getrandbits(16), -values.getrandbits(18), values.getrandbits(17)
        fields = (104, sequence % SEQUENCE_PERIOD, ticks_us, readings, *axes, 2512)
        own[:] = own[1], seal(SAMPLE_FORMAT % fields)
        sequence += 1
        for raw in splitter.cut(spoiler(own[1])):
            if isinstance(decoder.decode(Line("wire", sequence * 20_000_000, raw)), Sample):
                accepted += 1
                wrong += raw + b"\n" not in own

    spoiler.share = 0.0
    send(4)
    spoiler.share = SHARE
    while spoiler.done.total() < corruptions:
        send(1 + sequence % 200)
    spoiler.share = 0.0
    send(4)
    send(4)
    counts = decoder.counts
    return Run(
        spoiler.done,
        wrong,
        Books(len(spoiler.passed), spoiler.damaged, spoiler.lost, spoiler.repeated, 0),
        Books(accepted, counts.bad, sum(counts.lost.values()), counts.repeated, counts.unknown),
    )


def corrupt_at_once(runs: int, corruptions: int) -> Run:
    """The sum of runs of so many corruptions each, seeds 0 and up, on every core."""
    with ProcessPoolExecutor(os.cpu_count(), get_context("spawn")) as pool:
        parts = list(pool.map(corrupt, range(runs), [corruptions] * runs))
    done, wrong, books, decoder = zip(*parts, strict=True)
    return Run(
        sum(done, Counter()),
        sum(wrong),
        Books(*map(sum, zip(*books, strict=True))),
        Books(*map(sum, zip(*decoder, strict=True))),
    )
