"""The lines that a report keeps of a run: an hour of them, of the run and of each surface; all are counted."""

import numpy as np
import pytest
from tests.host.report.conftest import judged
from tests.host.report.test_course import visit

from hingeline.device.link.decoder import Line
from hingeline.device.samples import Sample
from hingeline.report import lines as module
from hingeline.report.course import courses
from hingeline.report.lines import Lines
from hingeline.report.results import read_session
from hingeline.storage.sessions import Session, begin_run, read_run
from hingeline_protocol import messages


def rows(first, last):
    """Return lines whose time is their number in the run."""
    return np.array([(number, 1.0, 2.0, 3.0, 20.0 + number) for number in range(first, last)])


@pytest.fixture(autouse=True)
def most(monkeypatch):
    monkeypatch.setattr(module, "MOST_LINES", 10)


@pytest.fixture
def record_long(tmp_path):
    """Record a run with a reading after so many lines, and return its results."""

    def write(lines_before):
        told = (
            messages.Board(1, 1, "0.1.0", "pico", "b0", 1),
            messages.Sensor(1, 0, "mpu6050", 0, 104, 16384, 200, 94, "absolute", "ok"),
            *(messages.Sample(0, number, 20_000 * number, 4, 1, 2, 65536, 2200) for number in range(lines_before)),
        )
        with begin_run(tmp_path / str(lines_before), "Moss Lantern", "throws") as recorder:
            recorder.lines([Line("COM3", 1, messages.pack(each).rstrip(b"\n")) for each in told])
            recorder.event("throw", surface="flap", mode="normal", command="up", judgements=[judged()])
        return read_session(Session((read_run(recorder.path),)))

    return write


@pytest.mark.parametrize("piece", [1, 3, 7, 60])
def test_the_first_of_the_run_and_of_each_surface_are_kept_whatever_pieces_they_come_in(piece):
    lines = Lines()
    for first, last in ((0, 30), (30, 34), (34, 60)):
        if first:
            lines.begin()
        for start in range(first, last, piece):
            lines.add(rows(start, min(start + piece, last)))
    assert lines.count == 60
    assert lines.kept[:, 0].tolist() == [*range(10), *range(30, 44)]
    assert lines.range_c == (20.0, 79.0)
    assert lines.is_cut
    for first, last, kept in ((0, 10, 10), (3, 5, 2), (8, 12, 2), (12, 15, 0), (30, 44, 14), (36, 50, 8), (50, 55, 0)):
        assert lines.between(first, last)[:, 0].tolist() == list(range(first, first + kept))


def test_pieces_that_pass_the_limit_are_cut_there():
    lines = Lines()
    lines.add(rows(0, 7))
    assert not lines.is_cut
    lines.add(rows(7, 25))
    lines.begin()
    lines.add(rows(25, 60))
    assert lines.kept[:, 0].tolist() == [*range(10), *range(25, 35)]


def test_a_sensor_without_a_thermometer_has_no_range():
    lines = Lines.of([Sample("s", 0.0, (1.0, 2.0, 3.0), 4, None, 0)])
    assert lines.range_c is None
    assert module.known(lines.kept[:, 4]) == [None]


def test_a_course_of_which_a_line_is_not_kept_is_not_drawn():
    _, recorded = visit(fixed=False)
    assert list(courses(recorded)) == []


def test_a_reading_after_more_lines_than_are_kept_says_why_no_course_is_drawn(record_long):
    results = record_long(lines_before=11)
    assert "throws recorded more lines than are drawn: deflection over time is left out" in results.cautions
    assert not any("than are drawn" in caution for caution in record_long(lines_before=10).cautions)
