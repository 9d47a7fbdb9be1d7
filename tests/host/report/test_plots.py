"""Labels of the plots, their height, and the order of what they draw."""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from tests.host.report.ruler import Drawing

from hingeline.checks.results import CheckResult, Step
from hingeline.report import plots as module
from hingeline.report.course import Course, Plateau
from hingeline.report.drawing import steps_of
from hingeline.report.plots import label_lines
from hingeline.report.results import Recorded, Results
from hingeline.units import BLUE, ORANGE


def course(*plateaus: Plateau) -> Course:
    time_s = np.linspace(0, 20, 41)
    return Course("flap", "throws", "left", "s-104", time_s, 0 * time_s, time_s >= 0, plateaus, length_mg=np.zeros(1))


@pytest.mark.parametrize(
    ("every_s", "lines"), [(7.0, 6 * [0]), (6.3, 6 * [0]), (6.0, [0, 1] * 3), (2.5, [0, 1, 2] * 2)]
)
def test_a_label_lies_over_no_other(every_s, lines):
    """16 letters of 5.2 points on 270 points of 20 s are 6.2 s long."""
    rests = [Plateau(every_s * (1 + i) - 0.7, every_s * (1 + i), 0.0, "neutral · normal") for i in range(6)]
    assert label_lines(course(*rests)) == lines


@pytest.mark.parametrize(("every_s", "lines"), [(7.0, 1), (2.5, 3)])
def test_a_plot_is_as_high_as_the_lines_of_its_labels_need(every_s, lines, monkeypatch):
    """A course is 1.9 in high, 72 points an inch; a further line of labels takes 11 points."""
    rests = [Plateau(every_s * (1 + i) - 0.7, every_s * (1 + i), 0.0, "neutral · normal") for i in range(4)]
    monkeypatch.setattr(module, "courses", lambda _: [course(*rests)])
    (drawn, *_) = module.plots(Results("x", (Recorded(run=None),)))
    _, _, _, height_pt = map(float, re.search(r'viewBox="([^"]*)"', drawn.svg)[1].split())
    assert height_pt == pytest.approx(1.9 * 72 + 11 * (lines - 1))
    places_pt = sorted({y_pt for _, (_, y_pt) in Drawing(drawn).labels})
    assert len(places_pt) == lines
    assert all(b - a > 1.2 * 8.5 for a, b in pairwise(places_pt)), "letters of 8.5 points, lines 120 % apart"


def test_neighbouring_sensors_differ_in_the_plot_of_residuals(monkeypatch):
    """However many there are; marks that are drawn in two ways, in turns."""
    several = [replace(course(Plateau(1, 2, 0.0, "up")), sensor_id=f"s-{number}") for number in range(4)]
    monkeypatch.setattr(module, "courses", lambda _: several)
    *_, drawn = module.plots(Results("x", (Recorded(run=None),)))
    _, *rows = Drawing(drawn).strokes
    assert [(stroke.colour, round(stroke.marks[0][1])) for stroke in rows] == [
        (BLUE.lower(), 0),
        (ORANGE.lower(), -1),
        (BLUE.lower(), -2),
        (ORANGE.lower(), -3),
    ]


def test_sweeps_are_drawn_in_the_order_of_their_positions_with_95_percent():
    steps = [Step(deg, way, deg / 10, 0.5, 9) for deg, way in ((5.0, "rising"), (-5.0, "rising"), (1.0, "falling"))]
    position_deg, apart_deg, reach_deg = steps_of(CheckResult.of("sweep", (), steps=tuple(steps)), "rising")
    assert position_deg.tolist() == [-5.0, 5.0]
    assert apart_deg.tolist() == [-0.5, 0.5]
    assert reach_deg == pytest.approx([0.98, 0.98])
