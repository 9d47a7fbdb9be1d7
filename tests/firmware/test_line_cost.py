"""What a sample line may cost a board: 256 bytes of heap where a word has 32 bits, twice that where it has 64."""

import json
import subprocess
from pathlib import Path

import pytest
from tests.bench.line import costs
from tests.firmware.installed import environment
from tests.unix_port import micropython

ROOT = Path(__file__).parents[2]
NEVER = 1_000_000


def test_a_line_costs_little_heap_and_less_than_f_strings():
    costs_of_line = costs()
    assert costs_of_line["heap_bytes"] <= 256 * costs_of_line["bits"] // 32
    assert costs_of_line["heap_bytes"] < costs_of_line["f_string_heap_bytes"]


def collections(collect_lines):
    """How often the heap is collected between the 4000 lines of `collecting.py`, and within one."""
    run = subprocess.run(
        [
            micropython(),
            "-X",
            "heapsize=300k",  # a Pico has about 200 KB, in words of half the length
            Path(__file__).with_name("collecting.py"),
            str(collect_lines),
        ],
        env=environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        check=True,
    )
    result = json.loads(run.stderr)
    return result["between"], result["within"]


def test_the_heap_is_collected_between_lines_and_never_within_one():
    between, within = collections(100)
    assert within == 0
    assert between == pytest.approx(4000 / 100, abs=2)


@pytest.mark.long
def test_a_heap_that_is_not_collected_in_time_is_collected_within_a_line():
    _, within = collections(NEVER)
    assert within > 0, "and the test above would see it"
