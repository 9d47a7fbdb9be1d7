"""The runner, fed from a list: what it asks, heeds, counts, says, records and shows."""

from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from tests.host.procedures.feed import (
    COUNTS_PER_DEG,
    LINE_S,
    NOISE_COUNTS,
    TICK_LINES,
    Bench,
    Poses,
    angle_deg,
    recorded,
)
from tests.host.procedures.moments import moment, passing

from hingeline.device.link.beat import BEAT_S
from hingeline.device.samples import BoardGone, Sample
from hingeline.errors import BoardLost, Interrupted, NotMeasurable, StoreError
from hingeline.measure.latest import STILL_S
from hingeline.procedures.keys import HELP_TEXT
from hingeline.procedures.notices import RESTLESS_S
from hingeline.procedures.procedure import Next, Pause, Procedure, Step
from hingeline.procedures.speaker import MESSAGES
from hingeline.procedures.state import STALE_S

NAMES = ("neutral", "up", "down")


@pytest.fixture
def bench(monkeypatch):
    """A bench with two sensors and somebody before it."""
    return Bench(monkeypatch)


def by_counts(readings):
    """The left side, beside a target of 10°."""
    return (moment(angle_deg(readings["l"]), wanted_deg=10.0),)


def run_out(bench, procedure):
    """Run until the list is at its end, before the procedure is."""
    with pytest.raises(NotMeasurable, match="The samples ended before the measurement did"):
        bench.runner.run(procedure)


def go_through(bench, names=NAMES):
    """Hold one pose after another, each 10° further."""
    for _ in names:
        bench.hold(2).turn(10)
    return bench


# the order of the work


def test_each_pose_is_asked_for_read_recorded_and_said(bench):
    end = go_through(bench).runner.run(Poses(NAMES))
    assert end.angles == (0.0, 10.0, 20.0)
    assert bench.said == [f"{name}: hold." for name in NAMES]
    assert bench.data == ["neutral is at 0.0°", "up is at 10.0°", "down is at 20.0°"]
    assert bench.records == [
        ("pose", {"name": name, "angle": angle, "confirmed": False})
        for name, angle in zip(NAMES, end.angles, strict=True)
    ]


def test_a_procedure_is_handed_out_before_each_wait(bench):
    reached = []
    bench.runner.on_step = lambda procedure: reached.append(len(procedure.angles))
    go_through(bench).runner.run(Poses(NAMES))
    assert reached == [0, 1, 2]


def test_a_state_shows_the_latest_ask_and_how_many_were_taken(bench):
    go_through(bench).runner.run(Poses(NAMES))
    assert list(dict.fromkeys(state.ask for _, state in bench.states)) == [f"{name}: hold." for name in NAMES]
    assert list(dict.fromkeys(state.taken for _, state in bench.states)) == [0, 1, 2, 3]


def test_a_pose_that_nothing_moved_to_is_not_taken(bench):
    bench.hold(5)
    run_out(bench, Poses(NAMES))
    assert bench.runner.state.taken == 1


def test_what_was_said_stays_together_and_the_last_ones_are_kept(bench):
    bench.runner.ask("flap: up, and hold.")
    for text in ("flap: up, and hold.", "flap, up\n  left  WITHIN\n  right  MORE", "Taken back: up."):
        bench.runner.say(text)
    assert bench.runner.state.messages == ("flap, up\n  left  WITHIN\n  right  MORE", "Taken back: up.")
    for number in range(MESSAGES):
        bench.runner.say(str(number))
    assert bench.runner.state.messages == tuple(map(str, range(MESSAGES)))


def test_a_screen_shows_the_brief_text_of_a_result(bench):
    bench.hold(2)
    bench.runner.run(Poses(("neutral",)))
    assert bench.runner.state.messages == ("0.0°",)


def test_what_a_caution_says_is_recorded(bench):
    bench.runner.caution("It is old.")
    assert bench.said == ["Caution: It is old."]
    assert bench.records == [("caution", {"text": "It is old."})]


def test_what_forbids_a_save_is_owed_to_the_end(bench):
    problem = StoreError("The disk is full", "Make room")

    def save():
        raise problem

    assert not bench.runner.save(save)
    assert bench.runner.save(lambda: None)
    assert bench.owed == [problem]


# how it ends early


def test_a_board_that_has_gone_ends_it(bench):
    bench.hold(1).do(BoardGone(101.0, BoardLost("It was pulled", "Plug it in")))
    with pytest.raises(BoardLost, match="It was pulled"):
        bench.runner.run(Poses(NAMES))


def test_who_loses_patience_hears_how_to_go_on(bench):
    bench.hold(10)
    with pytest.raises(NotMeasurable) as problem:
        bench.runner.run(Poses(NAMES, options={"patience_s": 5.0, "go_on": "hingeline throws"}))
    assert problem.value.cure.endswith("What was recorded is kept; go on with `hingeline throws`")


def test_a_lost_sensor_that_does_not_come_back_ends_it(bench):
    bench.hold(2).fault("l", "lost").hold(10, without="l")
    with pytest.raises(BoardLost, match="Sensor l stopped answering"):
        bench.runner.run(Poses(NAMES, options={"patience_s": 5.0}))


# keys


def test_take_takes_a_pose_though_nothing_moved(bench):
    bench.hold(2).press("take").hold(0.1)
    end = bench.runner.run(Poses(NAMES[:2]))
    assert end.angles == (0.0, 0.0)
    assert [fields["confirmed"] for kind, fields in bench.records if kind == "pose"] == [False, True]


def test_next_leaves_a_pose_out_and_it_is_not_counted(bench):
    bench.hold(2).press("next").hold(0.1).turn(10).hold(2)
    end = bench.runner.run(Poses(NAMES, can_skip=True))
    assert end.angles == (0.0, None, 10.0)
    assert bench.runner.state.taken == 2


def test_next_says_where_nothing_can_be_left_out(bench):
    bench.hold(2).press("next").hold(0.1)
    run_out(bench, Poses(NAMES))
    assert bench.said[-1] == "There is nothing to leave out here."
    assert bench.said.count("up: hold.") == 1


def test_next_drops_no_sample_where_nothing_can_be_left_out(bench):
    """A sweep is made of them."""
    lines = []

    @dataclass(frozen=True)
    class Tracked(Poses):
        def after(self, event):
            lines.append(len(event.tracks["l"]))
            return super().after(event)

    bench.hold(2).turn(10, 4).press("next").turn(10, 1).hold(2)
    bench.runner.run(Tracked(NAMES[:2], options={"is_tracked": True}))
    assert sum(lines) * LINE_S > 6
    assert "key" not in dict(bench.records)


@dataclass(frozen=True)
class OneByOne(Poses):
    """Each pose is of a sensor of its own, as the sides of a surface are in a look for play."""

    @property
    def step(self):
        step = super().step
        return step and replace(step, sensors=("lr"[len(self.angles)],))

    def after(self, event):
        return Next(replace(self, angles=(*self.angles, event.readings)), taken=self._name)


def test_a_reading_taken_back_of_another_sensor_waits_for_a_move(bench):
    bench.hold(1.2).press("back").hold(3).turn(10).hold(2)
    left, _ = bench.runner.run(OneByOne(("left", "right"))).angles
    assert angle_deg(left["l"]) == pytest.approx(10, abs=0.1)


def test_back_takes_the_last_reading_back_and_asks_for_it_again(bench):
    bench.hold(2).turn(10).hold(2).press("back").hold(0.1).turn(-5).hold(2).turn(10).hold(2)
    end = bench.runner.run(Poses(NAMES))
    assert end.angles == (0.0, 5.0, 15.0)
    assert "Taken back: up. Move away and come back." in bench.said
    assert bench.said.count("up: hold.") == 2
    assert (bench.runner.state.taken, bench.runner.state.taken_back) == (4, 1)


@pytest.mark.parametrize(
    ("are_heard", "can_stand", "text"),
    [
        (True, True, "Taken back: neutral. Move away and come back, or press Space to take it as it is now."),
        (False, True, "Taken back: neutral. Move away and come back."),
        (True, False, "Taken back: neutral."),
    ],
)
def test_what_is_told_of_a_reading_that_was_taken_back(bench, are_heard, can_stand, text):
    bench.runner.keys.are_heard = are_heard
    bench.hold(2).press("back").hold(0.1)
    run_out(bench, Poses(NAMES, options={"can_stand": can_stand}))
    assert text in bench.said


def test_a_reading_taken_back_can_be_taken_where_it_stands(bench):
    bench.hold(2).press("back").hold(0.5).press("take").hold(0.1).turn(10).hold(2)
    assert bench.runner.run(Poses(("neutral", "up"))).angles == (0.0, 10.0)


def test_all_readings_can_be_taken_back_and_then_none(bench):
    bench.hold(2).turn(10).hold(2).press("back", "back", "back").hold(0.1)
    run_out(bench, Poses(NAMES))
    said = [text for text in bench.said if "back" in text]
    assert [text.split(".")[0] for text in said] == [
        "Taken back: up",
        "Taken back: neutral",
        "There is nothing to take back",
    ]
    assert bench.runner.state.taken_back == 2


def test_a_pose_that_was_left_out_and_is_come_back_to_is_no_reading_taken_back(bench):
    bench.hold(2).press("next", "back").hold(0.1)
    run_out(bench, Poses(NAMES, can_skip=True))
    assert "Taken back: leaving out up." in bench.said
    assert (bench.runner.state.taken, bench.runner.state.taken_back) == (1, 0)


def test_units_are_those_of_the_sheet_until_they_are_swapped(bench):
    def judged(readings):
        return (moment(-28.0, chord_mm=50.0, unit="mm"),)

    bench.hold(2)
    for _ in range(3):
        bench.do(lambda: units.append(bench.shown.unit)).press("units").hold(0.2)
    bench.do(lambda: units.append(bench.shown.unit))
    units = []
    run_out(bench, Poses(NAMES, judged))
    assert units == ["mm", "in", "deg", "mm"]


def test_help_names_the_keys(bench):
    bench.hold(1).press("help").tick()
    run_out(bench, Poses(NAMES))
    assert HELP_TEXT in bench.said


def test_keys_that_change_nothing_measured_are_heeded_though_no_sample_comes(bench):
    """The others wait for a sample: a replay could not tell when they were pressed."""
    bench.hold(2).press("back", "units", "take", "help").tick()
    run_out(bench, Poses(NAMES))
    assert HELP_TEXT in bench.said
    assert bench.runner.state.unit == "mm"
    assert [bench.runner.keys.pressed.get() for _ in range(2)] == ["back", "take"]
    assert not [kind for kind, _ in bench.records if kind == "key"]


@pytest.mark.parametrize("sample_follows", [True, False])
def test_quit_stops(bench, sample_follows):
    bench.hold(1).press("quit")
    (bench.hold(0.1) if sample_follows else bench.tick()).hold(5)
    with pytest.raises(Interrupted, match="Stopped with Q"):
        bench.runner.run(Poses(NAMES))
    assert len(bench.events) > 200  # nothing more was waited for


def test_only_keys_that_change_what_is_measured_are_recorded(bench):
    bench.hold(2).press("units", "help", "next", "back", "take").hold(0.2)
    run_out(bench, Poses(NAMES, can_skip=True))
    keys = [fields["key"] for kind, fields in bench.records if kind == "key"]
    assert keys == ["next", "back", "take"]


# a recording


def test_recorded_keys_replayed_give_the_same_results(bench, monkeypatch):
    bench.hold(2).press("take").hold(1).turn(10).hold(2).press("back").hold(1).turn(3).hold(2)
    bench.press("next").hold(1).turn(1).hold(2)
    names = (*NAMES, "neutral again", "trim")
    events = [event for event in bench.events if isinstance(event, tuple)]
    live = bench.runner.run(Poses(names, can_skip=True))
    assert [fields["key"] for kind, fields in bench.records if kind == "key"] == ["take", "back", "next"]
    assert None in live.angles

    again = Bench(monkeypatch, keys=recorded(bench.records), views=None)
    again.do(*events)
    assert again.runner.run(Poses(names, can_skip=True)) == live
    assert again.records == [record for record in bench.records if record[0] != "key"]
    assert (again.said, again.data) == (bench.said, bench.data)
    assert replace(again.runner.state, unit="deg") == replace(bench.runner.state, unit="deg")


def test_who_waits_long_for_a_step_that_is_not_tracked_keeps_no_sample(bench):
    """An adjusted neutral is waited for for a quarter of an hour: that was 50 MB."""
    tracks = []

    @dataclass(frozen=True)
    class Untracked(Poses):
        def after(self, event):
            tracks.append(event.tracks)
            return super().after(event)

    bench.hold(60).turn(10, 4).hold(2)
    bench.runner.run(Untracked(NAMES[:2]))
    assert tracks == [{}, {}]


@dataclass(frozen=True)
class Counted(Poses):
    """It keeps how many lines of each sensor came while it was waited for."""

    options: dict = field(default_factory=lambda: {"is_tracked": True})

    def after(self, event):
        lines = tuple(len(event.tracks[name]) for name in "lr")
        return Next(replace(self, angles=(*self.angles, lines)))


@pytest.mark.parametrize(("is_old", "right_lines_less"), [(False, 0), (True, 1)])
def test_a_key_between_two_lines_of_one_time_replays_between_them(monkeypatch, is_old, right_lines_less):
    """Two boards measure at one time; an old file tells the time alone, and its key comes before both lines."""
    events = [event for event in Bench(monkeypatch).hold(1.2).events if isinstance(event, Sample)]
    before, later = events[:101], events[101:]
    assert before[-1].time_s == later[0].time_s
    live = Bench(monkeypatch)
    _, (left, right) = live.do(*before).press("take").do(*later).runner.run(Counted(NAMES[:2])).angles
    again = Bench(monkeypatch, keys=recorded(live.records, is_old=is_old))
    _, replayed = again.do(*events).runner.run(Counted(NAMES[:2])).angles
    assert replayed == (left, right - right_lines_less)


# waiting for a person, or for time


@pytest.mark.parametrize("asks", [True, False])
def test_a_pause_waits_for_a_key_where_the_person_may_be_asked(monkeypatch, asks):
    bench = Bench(monkeypatch, asks=asks)
    bench.runner.run(Pause("Tape the sensors on the flap, then press"))
    assert bench.waited == (["Tape the sensors on the flap, then press"] if asks else [])


@dataclass(frozen=True)
class Later(Procedure):
    """A neutral, then a pause, then a second pose."""

    number: int = 0

    @property
    def step(self):
        steps = (Step("neutral", ("l", "r")), Step("Tape them", (), is_pause=True), Step("up", ("l", "r")))
        return steps[self.number] if self.number < 3 else None

    def after(self, event):
        return Next(replace(self, number=self.number + 1), taken="it" if event.readings else "")


def test_a_pause_is_no_loss(bench):
    def wait(runner, text):
        bench.now_s += 60
        assert bench.states[-1][1].at(bench.now_s).alarms == ()

    bench.runner.wait = wait
    bench.hold(1)
    bench.hold(0.5).turn(10).hold(2)
    end = bench.runner.run(Later())
    assert end.step is None
    assert not [state for _, state in bench.states if state.alarms]


def test_what_takes_long_after_a_reading_or_at_the_end_is_no_loss(bench):
    """Nobody listens meanwhile: that the sensors are silent means nothing."""

    class Slow(Poses):
        def after(self, event):
            late = bench.states[-1][1].at(bench.now_s + 60)
            assert [sensor.condition for sensor in late.sensors] == ["waiting", "waiting"]
            return super().after(event)

    go_through(bench).runner.run(Slow(NAMES))
    assert not bench.shown.at(bench.now_s + 60).alarms


@dataclass(frozen=True)
class Untouched(Procedure):
    """Lets three seconds pass, one by one."""

    numbers: tuple[int, ...] = ()

    @property
    def step(self):
        if len(self.numbers) == 3:
            return None
        return Step(f"{len(self.numbers)}", ("l", "r"), is_tracked=True, lasts_s=1.0, is_aloud=not self.numbers)

    def after(self, event):
        assert not event.readings
        return Next(replace(self, numbers=(*self.numbers, len(event.tracks["l"]))))


def test_time_may_be_let_pass_moving_or_not(bench):
    bench.hold(1).turn(20, 1).hold(1.5)
    end = bench.runner.run(Untouched())
    assert sum(end.numbers) == pytest.approx(3 / LINE_S, abs=5)
    assert bench.said == ["0"]  # the others are only shown
    assert list(dict.fromkeys(state.ask for _, state in bench.states)) == ["0", "1", "2"]


def test_time_that_passes_without_a_sensor_does_not_count(bench):
    bench.hold(0.5).fault("l", "lost").hold(2, without="l")
    with pytest.raises(BoardLost, match="Sensor l"):
        bench.runner.run(Untouched())


# what is shown


def test_nobody_is_missed_before_anybody_listens(bench):
    bench.tick().do(lambda: bench.states.append((bench.now_s + 5, bench.shown.at(bench.now_s + 5))))
    run_out(bench, Poses(NAMES))
    assert bench.conditions() == ["waiting", "waiting"]
    assert not bench.shown.alarms


def test_a_silent_sensor_is_an_alarm_within_its_time_and_no_number_is_shown_from_then_on(bench):
    bench.hold(2)
    silent_s = bench._time_s
    bench.hold(1, without="l")
    run_out(bench, Poses(NAMES, by_counts))
    for now_s, state in bench.states[10:]:
        is_old = now_s - silent_s > STALE_S
        assert [alarm.side for alarm in state.alarms] == (["left"] if is_old else [])
        assert bool(state.sides) == (not is_old) or state.sensors[0].condition == "waiting"
    assert bench.conditions() == ["lost", "live"]
    assert bench.shown.sensors[0].age_s == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize(
    ("deed", "condition"),
    [
        (lambda bench: bench.turn(5, 0.5, "l"), "moving"),
        (lambda bench: bench.hold(0.5, frozen="l"), "frozen"),
        (lambda bench: bench.turn(5, 0.5, "l").hold(0.5, frozen="l"), "frozen"),
    ],
)
def test_what_a_sensor_does(bench, deed, condition):
    deed(bench.hold(2))
    run_out(bench, Poses(NAMES, by_counts))
    assert bench.conditions() == [condition, "live"]
    assert bool(bench.shown.sides) == (condition == "moving")


def test_a_fault_is_an_alarm_at_once_and_its_end_ends_it(bench):
    bench.hold(2).hold(0.2, without="l").fault("l", "lost").tick().do(lambda: seen.append(bench.shown))
    bench.hold(0.2, without="l").do(lambda: seen.append(bench.shown)).fault("l", "back").hold(0.2)
    bench.do(lambda: seen.append(bench.shown)).hold(2)
    seen = []
    run_out(bench, Poses(NAMES, by_counts))
    lost, later, back = seen
    assert [sensor.condition for sensor in lost.sensors] == ["lost", "live"]
    assert not lost.sides
    assert later.sensors[0].age_s == pytest.approx(0.4, abs=0.05)  # since its last sample
    assert [sensor.condition for sensor in back.sensors] == ["moving", "live"]
    assert bench.conditions() == ["live", "live"]
    assert "Sensor l does not answer: check its wires." in bench.said
    assert "Sensor l answers again." in bench.said
    assert bench.kept == ["lost l"], "the neutrals of later runs ask for the datum again"


def test_a_contact_that_comes_and_goes_is_told_now_and_then(bench):
    """Thirty times a second it was 30 kB of text in five seconds; what holds at last is told all the same."""
    bench.hold(2)
    for _ in range(60):
        bench.fault("l", "lost").hold(0.02, without="l").fault("l", "back").hold(0.02)
    bench.fault("l", "lost").hold(2, without="l").fault("l", "back").hold(3).turn(10, 4).hold(2)
    run_out(bench, Poses(NAMES, by_counts))
    told = [text for text in bench.said if "answer" in text]
    assert told[0] == "Sensor l does not answer: check its wires."
    assert 3 <= len(told) <= 10
    assert told[-2:] == ["Sensor l does not answer: check its wires.", "Sensor l answers again."]


def test_a_frozen_sensor_is_told_of_and_its_return_too(bench):
    bench.hold(2).hold(1, frozen="l").hold(1)
    run_out(bench, Poses(NAMES))
    told = [text for text in bench.said if text.startswith("Sensor")]
    assert told == [
        "Sensor l repeats one reading: it is frozen, it measures nothing.",
        "Sensor l measures again.",
    ]


def test_on_the_move_the_number_is_the_latest(bench):
    bench.hold(2).turn(10, LINE_S).hold(0.14)
    run_out(bench, Poses(NAMES, by_counts))
    (gap,) = bench.shown.gaps
    assert bench.conditions()[0] == "moving"
    assert gap.now.deg == pytest.approx(10, abs=4 * NOISE_COUNTS / COUNTS_PER_DEG / np.sqrt(5))


def test_at_rest_the_number_is_quiet(monkeypatch):
    """Displayed noise below 0.05° rms of a noisy chip: what a sceptical expert tries (the trade, no source)."""
    bench = Bench(monkeypatch, period_s=2 * STILL_S)
    bench.hold(100)
    run_out(bench, Poses(NAMES, by_counts))
    shown = [state.gaps[0].now.deg for now_s, state in bench.states if now_s > 102 and state.gaps]
    assert len(shown) > 150
    assert np.std(shown) < 0.05
    independent = 98 / STILL_S  # means, in as many seconds
    expected = np.degrees(400e-6 / np.sqrt(2 * STILL_S))  # white noise
    assert np.std(shown) == pytest.approx(expected, rel=4 / np.sqrt(2 * independent))


def test_a_state_is_published_as_often_as_it_is_wanted(monkeypatch):
    counts = []
    for period_s in (0.0, 1.0):
        bench = Bench(monkeypatch, period_s=period_s)
        bench.hold(20)
        run_out(bench, Poses(NAMES))
        counts.append(len(bench.states))
    assert counts[0] > 300
    assert counts[1] == pytest.approx(40, abs=4)  # twice a period, so that none is missed


def test_what_comes_late_in_a_beat_is_published_in_it(monkeypatch):
    """Boards deliver one after the other; with the last one's samples a beat late, they were drawn after 0.1 s."""
    bench = Bench(monkeypatch, period_s=BEAT_S)
    bench.hold(33 * TICK_LINES * LINE_S).hold(LINE_S).tick()
    run_out(bench, Poses(NAMES))
    assert [sensor.heard_s for sensor in bench.shown.sensors] == [bench.now_s, bench.now_s]


def test_where_nothing_is_wanted_there_is_a_place(bench):
    bench.hold(2)
    run_out(bench, Poses(NAMES, lambda readings: (passing(-28.0),)))
    assert [side.side for side in bench.shown.sides] == ["left"]
    assert (bench.shown.gaps, bench.shown.unit) == ((), "deg")


def test_what_can_t_be_judged_is_said(bench):
    def judged(readings):
        raise NotMeasurable("The left sensor is upside down", "Turn it")

    bench.hold(2)
    run_out(bench, Poses(NAMES, judged))
    assert bench.shown.problem == "The left sensor is upside down. Turn it."
    assert not bench.shown.sides


def test_on_its_way_a_surface_is_said_to_move_not_to_be_unknown(bench):
    def judged(readings):
        return (moment(-30.1, sd_deg=0.3),)

    problems = []
    bench.hold(2).do(lambda: problems.append(bench.shown.problem))
    bench.turn(10).do(lambda: problems.append(bench.shown.problem)).turn(10)
    run_out(bench, Poses(NAMES, judged))
    assert "NO VERDICT" in problems[0]
    assert problems[1] == "Moving…"


def test_a_judge_is_not_asked_without_views(monkeypatch):
    """A replay shows nothing: its time is for what is measured."""
    bench = Bench(monkeypatch, views=None)
    go_through(bench).runner.run(Poses(NAMES, lambda readings: 1 / 0))


# what is said meanwhile


def test_who_never_rests_is_told_once(bench):
    bench.hold(2).turn(200, 3 * RESTLESS_S).hold(2)
    run_out(bench, Poses(NAMES, options={"restless": "Rest for a second at each end."}))
    assert bench.said.count("Rest for a second at each end.") == 1


def test_who_rests_in_time_is_not_told(bench):
    bench.hold(2)
    for _ in range(4):
        bench.turn(10, RESTLESS_S / 2).hold(2)
    bench.runner.run(Poses((*NAMES, "again", "once more"), options={"restless": "Rest."}))
    assert "Rest." not in bench.said


def test_the_line_that_passes_tells_of_motion(bench):
    bench.hold(2).turn(10, 1, "l").hold(0.2)
    run_out(bench, Poses(NAMES, options={"while_still": "still: 0.3° to go"}))
    assert "1 sensor moving" in bench.passed
    assert "still: 0.3° to go" in bench.passed
    assert len(bench.passed) == pytest.approx(3.2 / 0.1, abs=8)
