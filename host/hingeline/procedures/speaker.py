"""What a person hears and sees of a procedure: words for the terminal, states for the views."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from time import perf_counter
from typing import Protocol

from hingeline.device.link.beat import BEAT_S
from hingeline.errors import HingelineError
from hingeline.procedures.keys import Keys
from hingeline.procedures.procedure import Procedure, Step
from hingeline.procedures.sensing import Sensing
from hingeline.procedures.state import UNIT_ORDER, State, sides_of
from hingeline_calibration.errors import CalibrationError

MESSAGES = 6
"""So many of the last messages are shown."""
MOVING = "Moving…"
"""In place of why there is no verdict: on its way a surface is never known well enough."""


class Talk(Protocol):
    """Where words go."""

    def say(self, text: str) -> None:
        """A line that stays."""

    def part(self, text: str) -> None:
        """Data that come bit by bit."""

    def passing(self, text: str) -> None:
        """A line that the next one replaces."""

    def owe(self, problem: HingelineError) -> None:
        """End the command with this problem once all that was measured is told."""


class Views(Protocol):
    """What shows states; `period_s` tells how often one is wanted."""

    period_s: float

    def publish(self, state: State) -> None:
        """Show a state from now on. Raises what keeps a view from showing."""


@dataclass(kw_only=True)
class Speaker:
    """Says and shows."""

    talk: Talk
    keys: Keys = field(default_factory=Keys)
    views: Views | None = None
    seats: Mapping[str, str] = field(default_factory=dict)  # by sensor id, where each sits
    state: State = field(default_factory=lambda: State(""))  # what is shown; the moment's numbers apart
    _sensing: Sensing | None = None
    _unit_chosen: bool = False
    _publish_s: float = 0.0

    def say(self, text: str, brief: str = "", is_data: bool = False, or_key: bool = False) -> None:
        """Say something that stays; see `Message`."""
        if or_key:
            text += self._or_key()
        if (shown := brief or text).strip() not in ("", self.state.ask):  # what is asked is not shown twice
            self.state = replace(self.state, messages=(*self.state.messages, shown)[-MESSAGES:])
        (self.talk.part if is_data else self.talk.say)(text)

    def ask(self, text: str, *, is_aloud: bool = True) -> None:
        """Show what the person is to do now, and say it."""
        self.state = replace(self.state, ask=text)
        if is_aloud:
            self.talk.say(text)

    def _take_back(self, name: str, step: Step | None, is_reading: bool) -> None:
        again = ""
        if is_reading:
            self.state = replace(self.state, taken_back=self.state.taken_back + 1)
            again = f" Move away and come back{self._or_key()}" if step is not None and step.can_stand else ""
        self.say(f"Taken back: {name}.{again}")

    def _or_key(self) -> str:
        return ", or press Space to take it as it is now." if self.keys.are_heard else "."

    def _swap_units(self) -> None:
        unit = UNIT_ORDER[(UNIT_ORDER.index(self.state.unit) + 1) % len(UNIT_ORDER)]
        self.state, self._unit_chosen = replace(self.state, unit=unit), True

    def publish(self) -> None:
        """Give the views the state while nothing is measured."""
        if self.views is not None:
            sensors = () if self._sensing is None else self._sensing.states(self.seats)
            self.views.publish(replace(self.state, sensors=sensors))

    def publish_moment(self, procedure: Procedure, sensing: Sensing) -> None:
        """Give the views the state of the moment, when one is due; all that has arrived was taken."""
        now_s = perf_counter()
        if self.views is not None and now_s >= self._publish_s:
            # boards deliver one after the other at a beat: the state that is drawn must hold the last one's samples
            self._publish_s = now_s + max(self.views.period_s / 2 - BEAT_S, 0)
            self.views.publish(self._moment(procedure, sensing))

    def _moment(self, procedure: Procedure, sensing: Sensing) -> State:
        state = replace(self.state, sensors=sensing.states(self.seats))
        readings = sensing.averages
        if readings is None or state.alarms:
            return state
        try:
            sides, problem, unit = sides_of(procedure.judge(readings))
        except (HingelineError, CalibrationError) as error:
            return replace(state, problem=str(error))
        if sides and not self._unit_chosen:
            self.state = replace(self.state, unit=unit)
        if problem and any(sensor.condition == "moving" for sensor in state.sensors):
            problem = MOVING
        return replace(state, sides=sides, problem=problem, unit=self.state.unit)
