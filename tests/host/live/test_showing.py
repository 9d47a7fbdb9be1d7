"""The latest state goes to each view as often as it shows one, until a view fails: that reaches the measurement."""

from dataclasses import replace
from threading import Event
from time import perf_counter, sleep

import pytest
from tests.host.live.states import MATCH, sensor, state

from hingeline.device.link.beat import BEAT_S
from hingeline.live.showing import HURRY_BEATS, Showing
from hingeline.procedures.state import STALE_S


class Kept:
    """A view that keeps the states it shows, up to those that `over` waits for."""

    def __init__(self, beats, over_after=None):
        self.beats = beats
        self.shown = []
        self.over = Event()
        self._over_after = over_after

    def show(self, state):
        self.shown.append((perf_counter(), state))
        if len(self.shown) == self._over_after:
            self.over.set()
            raise EOFError("that is enough")


def heard(condition="live"):
    """A match whose sensors were heard just now, the left one in a condition."""
    now_s = perf_counter()
    sensors = (replace(sensor(condition=condition), heard_s=now_s), replace(sensor("right"), heard_s=now_s))
    return state(*MATCH.gaps, sensors=sensors)


def show(views, state, over):
    """Publish a state, once, and wait until a view has failed at the last one that it waits for."""
    showing = Showing(views)
    with pytest.raises(EOFError), showing:
        publish(showing, state, over)


def publish(showing, state, over):
    """Publish a state, and wait."""
    showing.publish(state)
    assert over.wait(60)


def test_each_view_is_shown_every_so_many_beats():
    often, now_and_then, seldom = Kept(2, over_after=6), Kept(4), Kept(6)
    show([seldom, now_and_then, often], state(sensors=(sensor(condition="waiting"),)), often.over)
    assert [len(view.shown) for view in (often, now_and_then, seldom)] == [6, 3, 2]


def test_an_alarm_is_shown_before_its_turn_and_within_half_a_second():
    """As trade asks of a sensor that falls silent; one that says so itself waits for the next look alone."""
    assert STALE_S + HURRY_BEATS * BEAT_S <= 0.5
    seldom = Kept(10**9, over_after=1)
    show([seldom], heard("lost"), seldom.over)


def test_a_state_that_nothing_follows_ages_into_an_alarm_without_numbers():
    """The measuring thread may be stuck: what was heard long ago must not look alive."""
    seldom = Kept(10**9, over_after=1)
    published = heard()
    show([seldom], published, seldom.over)
    ((shown_s, shown),) = seldom.shown
    assert shown_s - published.sensors[0].heard_s > STALE_S
    assert [alarm.condition for alarm in shown.alarms] == ["lost", "lost"]
    assert published.gaps
    assert not shown.gaps


def test_nothing_is_shown_before_the_first_state():
    often = Kept(1)
    with Showing([often]):
        Event().wait(4 * BEAT_S)
    assert not often.shown


def test_what_kept_a_view_from_showing_is_raised_where_it_is_measured():
    often = Kept(1, over_after=1)
    showing = Showing([often])
    with pytest.raises(EOFError, match="enough"), showing:
        publish_until_it_fails(showing)


def publish_until_it_fails(showing):
    """Publish as a measurement does, for 60 s at most."""
    for _ in range(600):
        try:
            showing.publish(heard())
        except EOFError:
            return
        sleep(0.1)
    raise AssertionError("the measurement went on")


def test_a_state_is_wanted_as_often_as_the_quickest_view_shows_it():
    assert Showing([Kept(8), Kept(2)]).period_s == pytest.approx(2 * BEAT_S)
