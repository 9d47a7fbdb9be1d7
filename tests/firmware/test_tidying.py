"""Readings that a board leaves out while it collects garbage are counted apart from those that a bus costs."""

import json
import subprocess
from pathlib import Path

from tests.firmware.installed import environment
from tests.unix_port import micropython


def test_a_collection_is_told_from_a_slow_bus():
    """One is due each 5 ms, and that of 10 ms is taken at 11: a collection costs the one of 5 ms. 26 ms cost four."""
    run = subprocess.run(
        [micropython(), Path(__file__).with_name("tidying.py")], env=environment(), capture_output=True, check=True
    )
    healthy, hung = json.loads(run.stderr)["counts"]
    late, collections, collecting = healthy
    assert collections == 2
    assert (late, collecting) == (0, 2), "a healthy board has no other"
    late, collections, collecting = (now - then for now, then in zip(hung, healthy, strict=True))
    assert collections == 2
    assert collecting == healthy[2]
    assert late == 4
