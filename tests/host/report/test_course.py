"""The course of a run that had a sensor on a fixed part, or readings held for longer."""

import lzma
from pathlib import Path

import numpy as np
import pytest

from hingeline.report.course import courses
from hingeline.report.results import read_recorded
from hingeline.storage.sessions import read_run

REPLAYS = Path(__file__).parents[2] / "data" / "replays"


@pytest.fixture
def recorded(tmp_path):
    """Read a packed run, some bytes of which may be replaced."""

    def read(name, old=b"", new=b""):
        content = lzma.decompress((REPLAYS / f"{name}.log.xz").read_bytes())
        path = tmp_path / "session.log"
        path.write_bytes(content.replace(old, new) if old else content)
        return read_recorded(read_run(path))

    return read


def test_the_model_that_moved_is_taken_out_of_the_course_as_out_of_the_readings(recorded):
    """The model was pitched by 1.5° after neutral; what was read counts from there all the same."""
    left, right = courses(recorded("throws-fixed"))
    for course in (left, right):
        assert len(course.plateaus) == 2
        assert course.time_s[0] == 0.0
        for plateau in course.plateaus:
            held = (course.time_s > plateau.time_s - 0.5) & (course.time_s <= plateau.time_s)
            assert course.deflection_deg[held].mean() == pytest.approx(plateau.deflection_deg, abs=0.15)
        assert course.deflection_deg[course.time_s < 0.5].mean() == pytest.approx(0.0, abs=0.15)


@pytest.mark.parametrize("hold_s", [0.7, 1.1])
def test_a_reading_is_as_long_as_it_was_held(recorded, hold_s):
    run = recorded("throws", b'"hold_s": null', b'"hold_s": %.1f' % hold_s)
    for course in courses(run):
        lengths_s = [plateau.time_s - plateau.start_s for plateau in course.plateaus]
        assert lengths_s == pytest.approx(len(lengths_s) * [hold_s])
        assert np.isfinite(course.deflection_deg).all()
