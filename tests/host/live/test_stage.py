"""The picture: what is live, what is not, and what the numbers are, from samples that were made up."""

from dataclasses import replace

import numpy as np
import pytest

from hingeline.advice.verdict import judge_throw
from hingeline.checks.moment import Moment, Passing
from hingeline.device.samples import Sample, SensorFault
from hingeline.errors import NotMeasurable
from hingeline.live.picture import STALE_S
from hingeline.live.stage import STILL_S, Stage
from hingeline.measure.capture import Seen
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection

LINE_S = 0.02
COUNTS_PER_DEG = 16384 * np.radians(1)
"""Of a chip of 16384 counts/g, near level."""
NOISE_COUNTS = 400e-6 * 16384 / np.sqrt(2 * LINE_S)
"""Of one line of such a chip of 400 µg/√Hz, white."""


class Bench:
    """A stage before two sensors, and the clock on the wall."""

    def __init__(self, judge=None):
        self.now_s = 100.0
        self.stage = Stage(lambda: self.now_s)
        self.stage.seat({"l": "left", "r": "right"})
        self.stage.judging(judge)
        self.noise = np.random.default_rng(1)

    def line(self, sensor, angle=0.0, *, moving=frozenset(), frozen=frozenset()):
        counts = tuple(self.noise.normal((angle, 0, 16384), NOISE_COUNTS))
        sample = Sample(sensor, self.now_s, counts, 4, 24.0, 0)
        self.stage.saw(Seen(sample, frozenset(moving), frozenset(frozen)))

    def lines(self, count, **keys):
        for _ in range(count):
            self.now_s += LINE_S
            for sensor in "lr":
                self.line(sensor, **keys)

    def conditions(self):
        return [one.condition for one in self.stage.picture().sensors]


def by_counts(rests):
    """Judge one side by the mean of its counts, in degrees of a target of 10°."""
    angle = Deflection(float(rests["l"].mean_counts[0]) / COUNTS_PER_DEG, Budget.of([("noise", 0.01)]))
    verdict = judge_throw(angle.deflection_deg, 10.0, 0.5, "deg")
    yield Moment("left", verdict, 0.5, angle, 10.0, 50.0, "ruler")


def test_nobody_is_missed_before_anybody_listens():
    bench = Bench()
    bench.now_s += 5
    assert bench.conditions() == ["waiting", "waiting"]
    assert not bench.stage.picture().alarms


def test_a_sensor_is_lost_once_it_was_not_heard_for_long():
    bench = Bench(by_counts)
    bench.lines(30)
    bench.now_s += STALE_S
    assert bench.conditions() == ["live", "live"]
    bench.line("r")
    bench.now_s += 0.01
    shown = bench.stage.picture()
    assert [one.condition for one in shown.sensors] == ["lost", "live"]
    assert shown.alarms[0].age_s == pytest.approx(STALE_S + 0.01)
    assert not shown.gaps  # a value older than that is never shown


@pytest.mark.parametrize(
    ("seen", "condition"),
    [({"moving": "l"}, "moving"), ({"frozen": "l"}, "frozen"), ({"moving": "l", "frozen": "l"}, "frozen")],
)
def test_what_the_capture_sees_of_a_sensor(seen, condition):
    bench = Bench(by_counts)
    bench.lines(30, **seen)
    assert bench.conditions() == [condition, "live"]
    assert bool(bench.stage.picture().gaps) == (condition == "moving")


def test_a_fault_is_an_alarm_at_once_and_its_end_ends_it():
    bench = Bench(by_counts)
    bench.lines(30)
    bench.stage.saw(Seen(SensorFault("l", bench.now_s, "lost", 5), frozenset()))
    assert bench.conditions() == ["lost", "live"]
    bench.lines(2)
    assert bench.conditions() == ["live", "live"]


def test_a_pause_is_no_loss():
    bench = Bench()
    bench.lines(3)
    bench.stage.rest_ears()
    bench.now_s += 60
    assert bench.conditions() == ["waiting", "waiting"]
    bench.line("l")
    assert bench.conditions() == ["live", "live"]  # the other one has STALE_S from now


def test_on_the_move_the_number_is_the_latest():
    bench = Bench(by_counts)
    bench.lines(60, angle=0.0)
    bench.lines(6, angle=10 * COUNTS_PER_DEG, moving="lr")
    (gap,) = bench.stage.picture().gaps
    assert gap.now.deg == pytest.approx(10, abs=4 * NOISE_COUNTS / COUNTS_PER_DEG / np.sqrt(5))


def test_at_rest_the_number_is_quiet():
    """Displayed noise below 0.05° rms of a noisy chip: what a sceptical expert tries (the trade, no source)."""
    bench = Bench(by_counts)
    shown = []
    for _ in range(200):
        bench.lines(25)
        shown.append(bench.stage.picture().gaps[0].now.deg)
    assert np.std(shown) < 0.05
    assert np.std(shown) == pytest.approx(np.degrees(400e-6 / np.sqrt(2 * STILL_S)), rel=0.3)  # white noise


def test_a_gap_is_along_the_throw_in_degrees_and_mm():
    bench = Bench(lambda rests: [moment(-28.0, wanted_deg=-30.0, chord_mm=50.0)])
    bench.lines(30)
    (gap,) = bench.stage.picture().gaps
    assert (gap.word, gap.to_go.deg) == ("MORE", pytest.approx(2.0))
    assert gap.wanted.mm == pytest.approx(-25.882, abs=5e-4)  # tip to tip, shared check values
    assert gap.to_go.mm == pytest.approx(25.882 - 2 * 50 * np.sin(np.radians(14)), abs=5e-4)
    assert gap.reach.deg == pytest.approx(2 * 0.01, rel=0.02)  # 95 %


def test_where_nothing_is_wanted_there_is_a_place_and_no_gap():
    angle = Deflection(-28.0, Budget.of([("noise", 0.01)]))
    bench = Bench(lambda rests: [Passing("left", angle, 50.0, "ruler")])
    bench.lines(30)
    shown = bench.stage.picture()
    (place,) = shown.places
    assert (shown.gaps, shown.unit) == ((), "deg")
    assert place.now.mm == pytest.approx(-2 * 50 * np.sin(np.radians(14)), abs=5e-4)  # tip to tip
    assert place.reach.deg == pytest.approx(2 * 0.01, rel=0.02)  # 95 %
    bench.now_s += STALE_S + 0.01
    assert bench.stage.picture().sides == ()


def moment(now_deg, *, wanted_deg, chord_mm, unit="deg"):
    angle = Deflection(now_deg, Budget.of([("noise", 0.01)]))
    return Moment(
        "left", judge_throw(now_deg, wanted_deg, 0.5, unit), 0.5, angle, wanted_deg, chord_mm, "ruler"
    )


def test_units_are_those_of_the_sheet_until_they_are_swapped():
    bench = Bench(lambda rests: [moment(-28.0, wanted_deg=-30.0, chord_mm=50.0, unit="mm")])
    bench.lines(30)
    units = []
    for _ in range(4):
        units.append(bench.stage.picture().unit)
        bench.stage.swap_units()
    assert units == ["mm", "in", "deg", "mm"]


def test_what_is_asked_is_not_among_what_was_said():
    stage = Bench().stage
    for text in ("flap: up, and hold.", "flap: down, and hold."):
        stage.ask(text)
        stage.tell(text)
    stage.tell("Not there yet.")
    assert stage.picture().told == ("Not there yet.",)


def test_what_was_said_at_once_stays_together():
    stage = Bench().stage
    stage.tell("flap, up (normal)\n  left  WITHIN\n  right  MORE")
    stage.tell("Taken back: up (normal).")
    assert stage.picture().told == (
        "flap, up (normal)\n  left  WITHIN\n  right  MORE",
        "Taken back: up (normal).",
    )


@pytest.mark.parametrize(
    ("now_deg", "sd_deg", "wrong", "doubt"),
    [
        (-30.1, 0.3, "", "left: NO VERDICT, known to ±0.59° only"),
        (-30.1, 0.01, "it slipped", "left: NO VERDICT, it slipped"),
        (-28.0, 0.3, "", ""),
        (-30.1, 0.2, "", ""),
    ],
)
def test_a_side_in_doubt_has_its_number_and_no_word(now_deg, sd_deg, wrong, doubt):
    """WITHIN takes a 95 % uncertainty within the tolerance, of 0.5° here; what is surely out takes none."""
    angle = Deflection(now_deg, Budget.of([("noise", sd_deg)]))
    judged = replace(moment(now_deg, wanted_deg=-30.0, chord_mm=None), now=angle, wrong=wrong)
    bench = Bench(
        lambda rests: [judged, replace(moment(-28.0, wanted_deg=-30.0, chord_mm=None), what="right")]
    )
    bench.lines(30)
    shown = bench.stage.picture()
    assert shown.problem == doubt
    assert [one.what for one in shown.places] == (["left"] if doubt else [])
    assert [one.what for one in shown.gaps] == (["right"] if doubt else ["left", "right"])
    assert [one.what for one in shown.sides] == ["left", "right"], "as they are on the model"


def test_what_can_t_be_judged_is_said():
    def judge(rests):
        raise NotMeasurable("The left sensor is upside down", "Turn it")

    bench = Bench(judge)
    bench.lines(30)
    shown = bench.stage.picture()
    assert shown.problem == "The left sensor is upside down. Turn it."
    assert not shown.gaps
