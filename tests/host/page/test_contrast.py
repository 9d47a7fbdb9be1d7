"""Contrast of the page, which is read in the sun: WCAG 2.1."""

import re
from importlib.resources import files

import pytest
from tests.host.wcag import contrast

STYLE = (files("hingeline.page") / "page.html").read_text("utf-8")
COLOURS = dict(re.findall(r"--([\w-]+): (#\w{6})", STYLE))
TEXT, ENHANCED = 4.5, 7.0
"""Success criteria 1.4.3, level AA, and 1.4.6, level AAA."""


def test_the_number_is_black_on_white():
    assert contrast(COLOURS["ink"], COLOURS["paper"]) >= ENHANCED


@pytest.mark.parametrize("word", ["add", "ease", "hold"])
def test_words_on_their_colour(word):
    assert contrast(COLOURS[f"{word}-ink"], COLOURS[word]) >= TEXT


def test_colours_are_of_the_pair():
    assert set(COLOURS.values()) == {"#000000", "#ffffff", "#D55E00", "#0072B2"}


def test_no_colour_beside_the_named_ones():
    used = set(re.findall(r"(?:[^-]color|background|solid|double):? ([^;]+);", STYLE))
    assert all(value.startswith("var(--") for value in used)
