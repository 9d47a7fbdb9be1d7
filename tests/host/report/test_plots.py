"""Labels of the plots."""

import numpy as np
import pytest

from hingeline.report.course import Course, Plateau
from hingeline.report.plots import label_lines


def course(*plateaus: Plateau) -> Course:
    time_s = np.linspace(0, 20, 41)
    none = np.zeros(0)
    return Course("flap", "throws", "left", "s-104", time_s, 0 * time_s, time_s >= 0, plateaus, length_mg=none)


@pytest.mark.parametrize(("every_s", "lines"), [(5.0, [0, 0, 0, 0]), (4.0, [0, 1, 0, 1]), (2.0, [0, 1, 2, 0])])
def test_a_label_lies_over_no_other(every_s, lines):
    """16 letters of 5.2 points on 400 points of 20 s are 4.2 s long."""
    rests = [Plateau(every_s * (1 + i) - 0.7, every_s * (1 + i), 0.0, "neutral · normal") for i in range(4)]
    assert label_lines(course(*rests)) == lines
