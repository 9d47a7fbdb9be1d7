"""Whole screens as a person saw and approved them: in screens.txt, each below its name and size.

Where one changes, it is looked at again, and put there in place of the former one.
"""

import re
from dataclasses import replace
from pathlib import Path

import pytest
from tests.host.live.states import BOTH, LOST, MATCH, PUSHED, READING
from tests.host.live.terminal import bare, on_screen

APPROVED = Path(__file__).with_name("screens.txt").read_text("utf-8")
STATES = {
    "both sides off": BOTH,
    "pushed": PUSHED,
    "a sensor lost": replace(LOST, problem="Moving…", messages=(READING,)),
    "matched": replace(MATCH, messages=("Neutral taken.", READING)),
    "the page's address": BOTH,
    "much was said": replace(BOTH, messages=tuple(f"Reading {number} taken." for number in range(1, 7))),
}
SCREENS = re.findall(r"^== ([^,\n]+), (\d+) × (\d+)\n(.*?)(?=^== |\Z)", APPROVED, re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize(("name", "columns", "rows", "approved"), SCREENS, ids=[name for name, *_ in SCREENS])
def test_a_screen_is_as_it_was_approved(name, columns, rows, approved):
    address = "http://192.0.2.7:8765/abc/" if "address" in name else ""
    shown = bare(on_screen(STATES[name], int(columns), int(rows), address))
    assert [line.rstrip() for line in shown.splitlines()] == approved.splitlines()


def test_every_state_was_approved():
    assert [name for name, *_ in SCREENS] == list(STATES)


@pytest.mark.parametrize("rows", [21, 22, 24])
def test_the_word_is_large_however_many_sensors_are_well(rows):
    """What is off is read from where the person stands; that both sensors are well need not be."""
    shown = bare(on_screen(replace(BOTH, messages=(READING,)), 80, rows, ""))
    assert not re.search("LESS +MORE", shown), "a word in the terminal's own letters"
    assert "█" in shown
