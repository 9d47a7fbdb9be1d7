"""Contrast of the page, which is read in the sun: WCAG 2.1."""

import re
from importlib.resources import files

import pytest
from tests.host.wcag import contrast

STYLE = (files("hingeline.live.page") / "page.html").read_text("utf-8")
COLOURS = dict(re.findall(r"--([\w-]+): (#\w{6})", STYLE))
GRAPHICS, MOST = 3.0, 21.0
"""Success criterion 1.4.11, level AA; and black on white."""


def test_ink_on_paper_is_the_most_there_is():
    """In the sun every colour pales; that all text has these two is looked at in the browser."""
    assert contrast(COLOURS["ink"], COLOURS["paper"]) == pytest.approx(MOST)


@pytest.mark.parametrize("word", ["more", "less"])
def test_frames_of_words(word):
    assert contrast(COLOURS[word], COLOURS["paper"]) >= GRAPHICS


def test_colours_are_of_the_pair():
    assert set(COLOURS.values()) == {"#000000", "#ffffff", "#D55E00", "#0072B2"}


def test_no_colour_beside_the_named_ones():
    used = set(re.findall(r"(?:[^-]color|background|solid|double):? ([^;]+);", STYLE))
    assert all(value.startswith("var(--") for value in used)
