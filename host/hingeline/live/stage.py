"""Where the picture is made: from what a capture sees, what the command asks, and the judge of the moment."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import copysign
from time import monotonic

import numpy as np

from hingeline.checks.moment import Moment, Passing
from hingeline.device.samples import BoardGone, Sample, SensorFault
from hingeline.errors import HingelineError
from hingeline.live.picture import (
    ALARMING,
    STALE_S,
    UNIT_ORDER,
    Condition,
    Gap,
    Picture,
    Place,
    SensorState,
    Size,
)
from hingeline.measure.capture import Readings, Seen
from hingeline.units import Unit
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.still import Reading, summarise
from hingeline_calibration.travel import travel_mm

STILL_S, MOVING_S = 0.5, 0.1
"""The number shown is the mean of so much: at rest its noise is a quarter of a tenth of a degree even of a noisy
chip (400 µg/√Hz / √(2 · 0.5 s) = 0.023°); on the move it must not lag."""
NOISE_S = 2.0
"""The noise of that mean is estimated anew so often: it takes as long as all else of a picture."""
TOLD_TEXTS = 6

Judge = Callable[[Readings], Iterable[Moment | Passing]]


@dataclass
class _Heard:
    """What was heard of one sensor: its samples of the last `STILL_S`, and when on this computer's clock."""

    side: str
    samples: deque[Sample] = field(default_factory=deque)
    reading: Reading | None = None
    at_s: float = 0.0
    moving: bool = True
    frozen: bool = False
    lost: bool = False

    def look(self) -> Reading | None:
        """Return the reading that the number shown is the mean of; its noise is estimated every `NOISE_S`."""
        latest = list(self.samples)
        if self.moving:
            latest = [one for one in latest if one.time_s >= latest[-1].time_s - MOVING_S]
        if len(latest) < 2:
            return None
        counts = [one.counts for one in latest]
        reading = self.reading
        if reading is None or not _alike(reading, latest):
            reading = summarise([one.time_s for one in latest], counts, [one.temperature_c for one in latest])
        mean = [sum(axis) / len(latest) for axis in zip(*counts, strict=True)]
        self.reading = replace(reading, mean_counts=np.array(mean))
        return self.reading


def _alike(reading: Reading, samples: Sequence[Sample]) -> bool:
    """Whether a reading has about as many lines as there are samples, and is not much older."""
    near = samples[0].time_s - reading.start_s < NOISE_S
    return near and abs(len(samples) - reading.lines) <= reading.lines // 5


class Stage:
    """Takes what happens in the measuring thread; gives pictures of it to any thread.

    Parameters
    ----------
    now_s
        A monotonic clock, in seconds.
    """

    def __init__(self, now_s: Callable[[], float] = monotonic) -> None:
        self._now_s = now_s
        self._lock = threading.Lock()
        self._heard: dict[str, _Heard] = {}
        self._judge: Judge | None = None
        self._asked = ""
        self._told: deque[str] = deque(maxlen=TOLD_TEXTS)
        self._unit: Unit = "deg"
        self._unit_chosen = False
        self._captured = self._taken_back = 0
        self._listening = False

    def seat(self, sides: Mapping[str, str]) -> None:
        """Say which sensors are watched from now on, by sensor id, and on which side each sits."""
        now_s = self._now_s()
        with self._lock:
            self._heard = {name: _Heard(side, at_s=now_s) for name, side in sides.items()}
            self._judge, self._listening = None, False

    def judging(self, judge: Judge | None) -> None:
        """Say what the moment is judged by; None where nothing is wanted."""
        with self._lock:
            self._judge = judge

    def ask(self, text: str) -> None:
        """Say what the person is to do now."""
        with self._lock:
            self._asked = text

    def tell(self, text: str) -> None:
        """Say something; what is asked is not said twice."""
        with self._lock:
            if text.strip() not in ("", self._asked):
                self._told.append(text)

    def took(self) -> None:
        """A rest was taken."""
        with self._lock:
            self._captured += 1

    def took_back(self) -> None:
        """The last rest was taken back."""
        with self._lock:
            self._taken_back += 1

    def swap_units(self) -> None:
        """Tell everything in the next unit."""
        with self._lock:
            self._unit = UNIT_ORDER[(UNIT_ORDER.index(self._unit) + 1) % len(UNIT_ORDER)]
            self._unit_chosen = True

    def rest_ears(self) -> None:
        """Nobody listens until the next sample is seen: that the sensors are silent means nothing."""
        with self._lock:
            self._listening = False

    def saw(self, seen: Seen) -> None:
        """Take one event."""
        event = seen.event
        if isinstance(event, BoardGone):
            return
        with self._lock:
            heard = self._heard.get(event.sensor_id)
            if heard is None:
                return
            if not self._listening:
                self._listening = True
                for one in self._heard.values():
                    one.at_s = self._now_s()
            heard.moving, heard.frozen = event.sensor_id in seen.moving, event.sensor_id in seen.frozen
            if isinstance(event, Sample):
                heard.samples.append(event)
                while event.time_s - heard.samples[0].time_s > STILL_S:
                    heard.samples.popleft()
                heard.at_s, heard.lost = self._now_s(), False
            elif isinstance(event, SensorFault):
                heard.lost = event.code == "lost"
                heard.samples.clear()

    def alarms(self) -> frozenset[str]:
        """Return which sensors are alarming now, by sensor id."""
        with self._lock:
            return frozenset(
                name for name, heard in self._heard.items() if self._condition(heard) in ALARMING
            )

    def picture(self) -> Picture:
        """Return what is to be shown now."""
        with self._lock:
            states = tuple(self._state(name, heard) for name, heard in self._heard.items())
            readings = {name: heard.look() for name, heard in self._heard.items()}
            judge = self._judge
            shown = Picture(
                asked=self._asked,
                gaps=(),
                sensors=states,
                unit=self._unit,
                captured=self._captured,
                taken_back=self._taken_back,
                told=tuple(self._told),
            )
        fresh = all(state.condition in ("live", "moving") for state in states)
        known = {name: reading for name, reading in readings.items() if reading is not None}
        if judge is None or not known or not fresh or len(known) < len(readings):
            return shown
        try:
            moments = tuple(judge(known))
            doubts = [one.doubt if isinstance(one, Moment) else "" for one in moments]
            told = tuple(zip(moments, doubts, strict=True))
            gaps = tuple(_gap(one) for one, doubt in told if isinstance(one, Moment) and not doubt)
            places = tuple(_place(one) for one, doubt in told if isinstance(one, Passing) or doubt)
        except (HingelineError, CalibrationError) as error:
            return replace(shown, problem=str(error))
        if not self._unit_chosen:
            self._unit = _common_unit(moments)
        problem = "; ".join(filter(None, doubts))
        return replace(shown, gaps=gaps, places=places, problem=problem, unit=self._unit)

    def _state(self, name: str, heard: _Heard) -> SensorState:
        temperature_c = heard.samples[-1].temperature_c if heard.samples else None
        age_s = self._now_s() - heard.at_s
        return SensorState(heard.side, name, self._condition(heard), age_s, temperature_c)

    def _condition(self, heard: _Heard) -> Condition:
        if not self._listening:
            return "waiting"
        if heard.lost or self._now_s() - heard.at_s > STALE_S:
            return "lost"
        if heard.frozen:
            return "frozen"
        return "moving" if heard.moving else "live"


def _gap(moment: Moment) -> Gap:
    now, wanted = _size(moment, moment.now.deflection_deg), _size(moment, moment.wanted_deg)
    way = copysign(1.0, wanted.deg) if moment.verdict.kind == "throw" else 1.0
    to_go = Size(
        way * (wanted.deg - now.deg),
        None if now.mm is None or wanted.mm is None else way * (wanted.mm - now.mm),
    )
    tolerances = abs(moment.verdict.gap) / moment.tolerance
    return Gap(moment.what, moment.verdict.word, to_go, now, wanted, _reach(moment), tolerances)


def _place(moment: Moment | Passing) -> Place:
    return Place(moment.what, _size(moment, moment.now.deflection_deg), _reach(moment))


def _size(moment: Moment | Passing, deg: float) -> Size:
    if moment.chord_mm is None:
        return Size(deg)
    return Size(deg, travel_mm(deg, moment.chord_mm, moment.convention))


def _reach(moment: Moment | Passing) -> Size:
    low, high = (_size(moment, deg) for deg in moment.now.interval_deg)
    return Size(
        (high.deg - low.deg) / 2, None if low.mm is None or high.mm is None else (high.mm - low.mm) / 2
    )


def _common_unit(moments: Iterable[Moment | Passing]) -> Unit:
    """Return the unit of the rigging sheet, where all sides have the same."""
    units = {moment.verdict.unit if isinstance(moment, Moment) else "deg" for moment in moments}
    return "mm" if units == {"mm"} else "deg"
