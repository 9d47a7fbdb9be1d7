"""What fuzzing found broken stays mended; and every target takes what it is begun with, whole and cut off."""

import pytest
from tests.fuzz.__main__ import KEPT
from tests.fuzz.targets import TARGETS


@pytest.mark.parametrize("name", TARGETS)
def test_a_target_takes_what_it_is_begun_with(name):
    target, seeds = TARGETS[name]
    for seed in seeds():
        assert seed
        for end in range(0, len(seed), max(len(seed) // 40, 1)):
            target(seed[:end])
            target(seed[:end] + b"\x00{[\xff" + seed[end + 1 :])


def test_what_was_found_stays_mended():
    for path in KEPT.glob("*/*"):
        TARGETS[path.parent.name][0](path.read_bytes())
