"""Which sensor somebody wiggles: the one that moves alone, or turns far more than others that shake with it."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass, replace

from hingeline.errors import NoBoard
from hingeline.measure.capture import Readings
from hingeline.procedures.procedure import Message, Next, Procedure, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.rig.kinds import BOTH
from hingeline.storage.sides import save_sides, working_sensors
from hingeline.units import Side
from hingeline_calibration.arrays import angle_between_deg

TIMES = 3.0
"""The one wiggled turns at least so many times as far as any other that moves: common practice, no source."""
RETURNED_DEG = 1.0
"""What was wiggled and let go comes back as near as this, its play included: common practice, no source."""


@dataclass(frozen=True)
class Wiggle(Procedure):
    """Waits until one sensor was wiggled alone; a subclass says what for.

    Attributes
    ----------
    sensors
        Ids of those that are watched.
    before
        Their last readings.
    sensor_id
        The one wiggled, once there is one.
    """

    sensors: tuple[str, ...]
    before: Readings | None = None
    sensor_id: str = ""

    @property
    @abstractmethod
    def ask(self) -> str:
        """What the person does, once all rest."""

    @abstractmethod
    def refusal(self, sensor_id: str | None, turned_deg: float) -> str:
        """Why a wiggle of this sensor, None where several moved alike, does not count; empty where it does."""

    @property
    def step(self) -> Step | None:
        """Hands off first, then the wiggle."""
        if self.sensor_id:
            return None
        return Step("Hands off for a moment." if self.before is None else self.ask, self.sensors)

    def after(self, event: Taken) -> Next[Wiggle]:
        """Tell which sensor turned furthest since the last reading."""
        if self.before is None:
            return Next(replace(self, before=event.readings))
        moved = [name for name in self.before if self.before[name].start_s != event.readings[name].start_s]
        if not moved:
            return Next(self, messages=(Message("Nothing has moved yet."),))
        sensor_id = _wiggled(self.before, event, moved)
        turned_deg = max(
            angle_between_deg(self.before[name].mean_counts, event.readings[name].mean_counts) for name in self.before
        )
        if refusal := self.refusal(sensor_id, turned_deg):
            return Next(replace(self, before=event.readings), messages=(Message(refusal),))
        return Next(replace(self, before=event.readings, sensor_id=sensor_id or ""))


@dataclass(frozen=True)
class FindSide(Wiggle):
    """Which sensor is on one side, on the table or on the aircraft; `taken` has its side already."""

    side: Side = "left"
    taken: str = ""

    @property
    def ask(self) -> str:
        return f"Wiggle the sensor on the {self.side.upper()}, as seen from behind, or its surface; then hands off."

    def refusal(self, sensor_id: str | None, turned_deg: float) -> str:
        if sensor_id is None:
            return f"Several sensors moved alike: hold the model, and wiggle the one on the {self.side.upper()} alone."
        if sensor_id == self.taken:
            return f"Sensor {sensor_id} has its side already: wiggle the one on the {self.side.upper()}."
        return ""


@dataclass(frozen=True)
class FindLeft(Wiggle):
    """Which of two sensors is on the left side of a surface."""

    surface: str = ""

    @property
    def ask(self) -> str:
        return (
            f"{self.surface}: wiggle the LEFT surface, as seen from behind, with a finger for a second; then hands off."
        )

    def refusal(self, sensor_id: str | None, turned_deg: float) -> str:
        return "" if sensor_id else "Both sensors moved alike: hold the model, and touch the left surface alone."


@dataclass(frozen=True)
class AwaitWiggle(Wiggle):
    """Waits until the sensors are on a surface: no key tells it, a wiggle does that ends where it began."""

    surface: str = ""
    wiggled: str = ""
    side: str = ""

    @property
    def ask(self) -> str:
        side = f" {self.side.upper()}" if len(self.sensors) > 1 else ""
        return (
            f"{self.surface}: tape the sensors on, sticks centred; then wiggle the{side} surface with a finger, and "
            "hands off."
        )

    @property
    def step(self) -> Step | None:
        """One text all along: while the sensors are taped on, they rest and move again and again."""
        return None if self.sensor_id else Step(self.ask, self.sensors)

    def refusal(self, sensor_id: str | None, turned_deg: float) -> str:
        if sensor_id == self.wiggled and turned_deg <= RETURNED_DEG:
            return ""
        side = f" {self.side.upper()}" if len(self.sensors) > 1 else ""
        return f"Waiting for a wiggle of the{side} surface alone."


def _wiggled(before: Readings, event: Taken, moved: Sequence[str]) -> str | None:
    """Of the sensors that moved since a reading, the one that was wiggled; None if several were."""
    turned_deg = {
        name: max(
            (angle_between_deg(before[name].mean_counts, sample.counts) for sample in event.tracks.get(name, ())),
            default=0.0,
        )
        for name in moved
    }
    most, *others = sorted(moved, key=lambda name: -turned_deg[name])
    return most if all(turned_deg[most] > TIMES * turned_deg[name] for name in others) else None


def find_sides(runner: Runner) -> dict[Side, str]:
    """Ask for a wiggle of the left sensor, of more than two also of the right one; remember the sides.

    Raises
    ------
    NoBoard
        Only one sensor works.
    HingelineError
        See `Runner.run`.
    """
    working = working_sensors(runner.sensors)
    if len(working) < len(BOTH):
        raise NoBoard(
            f"Sensor {working[0]} is the only one that works, so there is nothing to tell apart",
            "Plug in another sensor; `hingeline boards` shows what answers",
        )
    left = runner.run(FindSide(working, side="left")).sensor_id
    right, *others = [name for name in working if name != left]
    if others:
        right = runner.run(FindSide(working, side="right", taken=left)).sensor_id
    sides: dict[Side, str] = {"left": left, "right": right}
    runner.save(lambda: save_sides(runner.store, sides, runner.started))
    runner.record("wiggle", sides=sides)
    return sides
