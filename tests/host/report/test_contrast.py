"""Contrast of the colours in the page and its plots, by the formula of WCAG 2.1."""

import re
from importlib.resources import files

import pytest

from hingeline.report.drawing import BLUE, INK, ORANGE, QUIET

CSS = (files("hingeline.report") / "templates" / "style.css").read_text("utf-8")
COLOURS = dict(re.findall(r"--(\w+): (#\w{6});", CSS))
TEXT, GRAPHICS = 4.5, 3.0
"""Level AA: success criteria 1.4.3 and 1.4.11."""


def luminance(colour: str) -> float:
    """Return the relative luminance, as WCAG 2.1 defines it."""
    channels = (int(colour[index : index + 2], 16) / 255 for index in (1, 3, 5))
    linear = [one / 12.92 if one <= 0.03928 else ((one + 0.055) / 1.055) ** 2.4 for one in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.1, note to "contrast ratio"
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # just fails AA; from memory


@pytest.mark.parametrize("text", ["ink", "quiet"])
@pytest.mark.parametrize("ground", ["paper", "mark"])
def test_text(text, ground):
    assert contrast(COLOURS[text], COLOURS[ground]) >= TEXT


def test_no_text_in_another_colour():
    colours = set(re.findall(r"[^-]color: ([^;]+);", CSS))
    assert colours == {"var(--ink)", "var(--quiet)", COLOURS["quiet"]}


@pytest.mark.parametrize("colour", [INK, QUIET])
def test_words_in_plots(colour):
    assert contrast(colour, COLOURS["paper"]) >= TEXT


@pytest.mark.parametrize("colour", [BLUE, ORANGE])
def test_lines_and_marks_in_plots(colour):
    assert contrast(colour, COLOURS["paper"]) >= GRAPHICS
