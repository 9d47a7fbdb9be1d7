"""The course of a run that had a sensor on a fixed part, or readings held for longer."""

import lzma
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, instrument
from tests.host.report.conftest import judged

from hingeline.checks.results import Seat, SidesResult, form_of, read_result
from hingeline.device.samples import Sample
from hingeline.report.course import courses
from hingeline.report.lines import Lines
from hingeline.report.results import Recorded, read_recorded
from hingeline.storage.results import Entry
from hingeline.storage.runs import Run
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


# a swept wing on its stand, invented: up and down are held, and in between somebody bumps the stand
SWEEP_DEG, ROLL_DEG, PITCH_DEG = 30.0, 5.0, -2.0
NOISE_G = 0.0003
AT_LINES, STANDS_DEG = [0, 60, 100, 160, 240, 300, 380, 440], [0.0, 0.0, 20.0, 20.0, 20.0, -15.0, -15.0, -15.0]
"""Of the surface: it rests at the beginning, at the 100th and at the 300th line after the sensors were seated."""
BUMP_LINES, BEFORE = (180, 220), 30
"""The stand is bumped between these; so many lines came before, from another surface."""
READ_AT = {"up · n": (160, 20.0), "down · n": (380, -15.0)}
SHEET = f"""
schema_version = 1
aircraft = "Bent Gull"
modes = ["n"]
[surface.elevon]
kind = "aileron"
sweep = "{SWEEP_DEG} deg"
throws.n = {{ up = "20 deg", down = "15 deg" }}
"""


def lines_of(sensor_id, up_g, first_line=0):
    noise = np.random.default_rng(len(sensor_id)).normal(0, NOISE_G, up_g.shape)
    counts = COUNTS_PER_G * (up_g + noise)
    return [
        Sample(sensor_id, 50.0 + (first_line + number) / LINES_HZ, tuple(line), 4, None, number)
        for number, line in enumerate(counts)
    ]


def up_in(turns):
    """(N, 3) where up is in frames that were turned so from the level; X is to the left, Y aft, Z up."""
    return turns.inv().apply([0.0, 0.0, 1.0])


def visit(sides=("left", "right"), *, fixed=True, sheet=SHEET, hold_s=0.7, read_at=READ_AT, before=BEFORE):
    """What was recorded of the wing: the true deflection (N,) at each line, and the run."""
    count = AT_LINES[-1]
    numbers = np.arange(count)
    true_deg = np.interp(numbers, AT_LINES, STANDS_DEG)
    bump = np.interp(numbers, BUMP_LINES, [0, 1])[:, None]
    model = Rotation.from_rotvec(bump * np.array([PITCH_DEG, ROLL_DEG, 0.0]), degrees=True)
    samples, calibrations, seats = {}, {}, {}
    for side in sides:
        sensor = instrument(side)
        sweep_deg = {"left": SWEEP_DEG, "right": -SWEEP_DEG, "middle": 0.0}[side]
        at_neutral = Rotation.from_euler("z", sweep_deg, degrees=True)
        hinge = at_neutral.apply([1.0, 0.0, 0.0])
        turned = Rotation.from_rotvec(np.outer(true_deg, hinge), degrees=True)
        elsewhere = np.tile([0.6, 0.0, 0.8], (before, 1))
        up_g = np.vstack([elsewhere, up_in(model * turned * at_neutral)])
        samples[sensor.sensor_id] = lines_of(sensor.sensor_id, up_g)
        calibrations[sensor.sensor_id] = sensor.calibration
        seats[side] = Seat(sensor.sensor_id, (1.0, 0.0, 0.0))
    part = instrument("fixed")
    if fixed:
        samples[part.sensor_id] = lines_of(part.sensor_id, up_in(model), before)
        calibrations[part.sensor_id] = part.calibration
    at_first = dict.fromkeys(samples, before)
    entries = [Entry(SidesResult("elevon", seats, part.sensor_id if fixed else ""), at_first)]
    for position, (line, deg) in read_at.items():
        command, mode = position.split(" · ")
        judgements = [judged(side, deg) for side in sides]
        fields = {"surface": "elevon", "mode": mode, "command": command, "judgements": judgements}
        entries.append(Entry(read_result(form_of("throw", fields), fields), dict.fromkeys(samples, before + line)))
    run = Run(Path("1-throws.log"), "Bent Gull", "throws", "elevon", "2026-05-17T08:00:00+00:00", "1")
    return true_deg, Recorded(
        run=run,
        lines={name: Lines.of(each) for name, each in samples.items()},
        calibrations=calibrations,
        entries=entries,
        sheet=sheet,
        hold_s=hold_s,
    )


def test_every_line_shows_the_true_deflection_whatever_the_stand_does():
    """Rolled by 5° on a hinge swept by 30°, a sensor turns by 2.5° about it; 0.017° of noise a line."""
    true_deg, recorded = visit()
    for course in courses(recorded):
        last = READ_AT["down · n"][0]
        assert course.time_s == pytest.approx(np.arange(last) / LINES_HZ)
        rest = np.isin(np.round(true_deg[:last], 6), (0.0, 20.0, -15.0))
        rest[BUMP_LINES[0] - 10 : BUMP_LINES[1] + 10] = False  # the model's motion is smoothed over 0.2 s
        assert course.deflection_deg[rest] == pytest.approx(true_deg[:last][rest], abs=0.1)
        assert course.deflection_deg == pytest.approx(true_deg[:last], abs=0.3)
        assert np.abs(course.length_mg).max() < 0.2


def test_a_stand_that_is_bumped_shows_without_a_fixed_sensor():
    """To first order, pitch · cos 30° and roll · sin 30° about the hinge: -1.73° and ±2.5°."""
    true_deg, recorded = visit(fixed=False)
    errors_deg = [course.deflection_deg - true_deg[: course.time_s.size] for course in courses(recorded)]
    gone_deg = sorted(error_deg[-1] - error_deg[0] for error_deg in errors_deg)
    assert gone_deg == pytest.approx([-1.73 - 2.5, -1.73 + 2.5], abs=0.4)


def test_readings_stand_where_they_were_held():
    """From 0.7 s before their last line; 50 lines a second."""
    _, recorded = visit()
    left, right = courses(recorded)
    for course in (left, right):
        spans = [
            (plateau.start_s, plateau.time_s, plateau.deflection_deg, plateau.position) for plateau in course.plateaus
        ]
        ends_s = [(line - 1) / LINES_HZ for line, _ in READ_AT.values()]
        expected = [
            (end_s - 0.7, end_s, deg, name) for end_s, (name, (_, deg)) in zip(ends_s, READ_AT.items(), strict=True)
        ]
        assert [span[3] for span in spans] == [row[3] for row in expected]
        assert [span[:3] for span in spans] == [pytest.approx(row[:3]) for row in expected]


def test_a_reading_that_is_longer_than_its_course_begins_with_it():
    _, recorded = visit(read_at={"up · n": (10, 0.0)}, hold_s=1.0)
    assert [course.plateaus[0].start_s for course in courses(recorded)] == [0.0, 0.0]


@pytest.mark.parametrize("line", [0, 9])
def test_of_a_fifth_of_a_second_there_is_no_course(line):
    assert list(courses(visit(read_at={"up · n": (line, 0.0)})[1])) == []


def test_a_sensor_without_a_calibration_has_no_course():
    _, recorded = visit()
    del recorded.calibrations["b-left"]
    assert [course.side for course in courses(recorded)] == ["right"]


@pytest.mark.parametrize("sheet", [None, "no sheet", SHEET.replace("elevon", "flap")])
def test_without_a_sheet_the_hinge_is_taken_for_square(sheet):
    """Then a roll of 5° is not taken out of a swept wing: 2.5° stay in, to first order, of either sign."""
    true_deg, recorded = visit(sheet=sheet)
    left, right = (course.deflection_deg - true_deg[: course.time_s.size] for course in courses(recorded))
    assert (left[-1] - left[0], right[-1] - right[0]) == pytest.approx((2.5, -2.5), abs=0.4)


def test_a_rudder_in_the_middle_has_a_hinge_that_is_square():
    true_deg, recorded = visit(("middle",))
    (course,) = courses(recorded)
    assert course.deflection_deg == pytest.approx(true_deg[: course.time_s.size], abs=0.3)


def test_a_fixed_sensor_that_was_silent_takes_nothing_out():
    _, recorded = visit()
    _, without = visit(fixed=False)
    recorded.lines["b-fixed"] = Lines()
    recorded.lines["b-fixed"].add(visit()[1].lines["b-fixed"].kept[:9])
    for silent, none in zip(courses(recorded), courses(without), strict=True):
        assert silent.deflection_deg == pytest.approx(none.deflection_deg)
