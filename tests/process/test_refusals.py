"""A disk that is full, read-only or broken, met at any step of a save: told with a cure; old or new, whole."""

import pytest
from tests.process.run import broken_off, marked
from tests.process.saves import SAVES

WHY = ("the disk is full", "is read-only", "the device gives an error")


@pytest.mark.parametrize("name", marked(SAVES, quick=("datum", "report")))
def test_a_refusal_of_every_step(name):
    found = broken_off("refusals", name)
    assert found["wrong"] == []
    refusals = [text for text in found["told"] if text != "saved"]
    assert all(text.startswith("2 ") and any(why in text for why in WHY) for text in refusals), refusals
    for why in WHY:
        assert any(why in text for text in refusals)
