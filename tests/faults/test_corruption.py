"""Corrupted lines: none is accepted beyond what a CRC-32 allows, and every one is counted.

A corruption that a CRC of 32 bits can't tell from chance passes once in 2³²; a burst of up to 32 bits never does
(Peterson & Brown, "Cyclic Codes for Error Detection", 1961; from memory).
"""

import pytest
from tests.faults.corruption import CORRUPTING, corrupt, corrupt_at_once


def test_corrupted_lines_are_refused_and_counted():
    run = corrupt(seed=1, corruptions=20_000)
    assert set(run.done) == set(CORRUPTING)
    assert run.wrong == 0
    assert run.decoder == run.books


@pytest.mark.soak
def test_ten_million_corrupted_lines(capsys):
    run = corrupt_at_once(runs=40, corruptions=265_000)
    with capsys.disabled():
        print(f"\ncorruptions: {dict(run.done)}")
        print(f"wrongly accepted {run.wrong} of {run.books.bad}, expected of a CRC-32 {run.books.bad / 2**32:.4f}")
        print(f"done    {run.books}\ndecoder {run.decoder}")
    assert run.books.bad >= 10_000_000
    assert run.wrong == 0
    assert run.decoder == run.books
