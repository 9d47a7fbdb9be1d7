"""Pictures go to each view as often as it shows them, until one fails: that reaches the measurement."""

from threading import Event

import pytest

from hingeline.device.link.beat import BEAT_S
from hingeline.device.samples import SensorFault
from hingeline.live.picture import STALE_S
from hingeline.live.showing import HURRY_BEATS, Showing
from hingeline.live.stage import Stage
from hingeline.measure.capture import Seen


class Counted:
    """A view that counts its pictures, up to those that `over` waits for."""

    def __init__(self, beats, over_after=None):
        self.beats = beats
        self.shown = 0
        self.over = Event()
        self._over_after = over_after

    def show(self, picture):
        self.shown += 1
        if self.shown == self._over_after:
            self.over.set()
            raise EOFError("seen enough")


def test_each_view_is_shown_every_so_many_beats():
    often, now_and_then, seldom = Counted(2, over_after=6), Counted(4), Counted(6)
    with pytest.raises(EOFError), Showing(Stage(), [seldom, now_and_then, often]):
        assert often.over.wait(60)
    assert (often.shown, now_and_then.shown, seldom.shown) == (6, 3, 2)


def test_an_alarm_is_shown_before_its_turn_and_within_half_a_second():
    """As trade asks of a sensor that falls silent; one that says so itself waits for the next look alone."""
    assert STALE_S + HURRY_BEATS * BEAT_S <= 0.5
    stage, seldom = Stage(), Counted(10**9, over_after=1)
    stage.seat({"l": "left"})
    stage.saw(Seen(SensorFault("l", 0.0, "lost", 0), frozenset()))
    with pytest.raises(EOFError), Showing(stage, [seldom]):
        assert seldom.over.wait(60)
