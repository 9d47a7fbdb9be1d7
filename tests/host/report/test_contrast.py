"""Contrast of the colours in the page and its plots, by the formula of WCAG 2.1."""

import re
from importlib.resources import files

import pytest
from tests.host.wcag import contrast

from hingeline.report.drawing import INK, QUIET
from hingeline.units import BLUE, ORANGE

CSS = (files("hingeline.report") / "templates" / "style.css").read_text("utf-8")
COLOURS = dict(re.findall(r"--(\w+): (#\w{6});", CSS))
TEXT, GRAPHICS = 4.5, 3.0
"""Level AA: success criteria 1.4.3 and 1.4.11."""


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
