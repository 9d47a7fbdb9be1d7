"""Which sensor somebody wiggles: the one that moves alone, or turns far more than others that shake with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from hingeline.errors import NoBoard
from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument, sensors_of
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
    """Waits until one of the sensors was wiggled alone.

    `ask` is what the person does once all rest, `ask_rest` before. `alike` is said where several moved alike, `wrong`
    where the one that moved is none of `awaited`; where there are none awaited, any counts. One that `returns` has to
    end where it began. `before` are the last readings; `sensor_id` is the one wiggled, once there is one.
    """

    sensors: tuple[str, ...]
    ask: str
    alike: str
    wrong: str = ""
    awaited: tuple[str, ...] = ()
    returns: bool = False
    ask_rest: str = "Hands off for a moment."
    before: Readings | None = None
    sensor_id: str = ""

    @property
    def step(self) -> Step | None:
        """Hands off first, then the wiggle."""
        if self.sensor_id:
            return None
        return Step(self.ask_rest if self.before is None else self.ask, self.sensors, is_tracked=True)

    def after(self, event: Taken) -> Next[Wiggle]:
        """Tell which sensor turned furthest since the last reading."""
        if self.before is None:
            return Next(replace(self, before=event.readings))
        moved = [name for name in self.before if self.before[name].start_s != event.readings[name].start_s]
        if not moved:
            return Next(self, messages=(Message("Nothing has moved yet."),))
        turned_deg = max(
            angle_between_deg(self.before[name].mean_counts, event.readings[name].mean_counts) for name in self.before
        )
        sensor_id = _wiggled(self.before, event, moved)
        following = replace(self, before=event.readings)
        if sensor_id is None or (self.returns and turned_deg > RETURNED_DEG):
            return Next(following, messages=(Message(self.alike),))
        if self.awaited and sensor_id not in self.awaited:
            return Next(following, messages=(Message(self.wrong),))
        return Next(replace(following, sensor_id=sensor_id))


def find_side(sensors: tuple[str, ...], side: Side, taken: str = "") -> Wiggle:
    """Find which sensor is on one side, on the table or on the aircraft; `taken` has its side already."""
    name = side.upper()
    return Wiggle(
        sensors,
        f"Wiggle the sensor on the {name}, as seen from behind, or its surface; then hands off.",
        f"Several sensors moved alike: hold the model, and wiggle the one on the {name} alone.",
        f"Sensor {taken} has its side already: wiggle the one on the {name}.",
        tuple(sensor_id for sensor_id in sensors if sensor_id != taken),
    )


def find_left(sensors: tuple[str, ...], surface: str) -> Wiggle:
    """Find which of two sensors is on the left side of a surface."""
    return Wiggle(
        sensors,
        f"{surface}: wiggle the LEFT surface, as seen from behind, with a finger for a second; then hands off.",
        "Both sensors moved alike: hold the model, and touch the left surface alone.",
    )


def await_wiggle(surface: str, instruments: tuple[Instrument, ...]) -> Wiggle:
    """Wait until the sensors are on a surface: no key tells it, a wiggle of the first side does that comes back.

    One text all along: while the sensors are taped on, they rest and move again and again.
    """
    sensors, first = sensors_of(instruments), instruments[0]
    which = f" {first.side.upper()}" if len(sensors) > 1 else ""
    ask = (
        f"{surface}: tape the sensors on, sticks centred; then wiggle the{which} surface with a finger, and hands off."
    )
    waiting = f"Waiting for a wiggle of the{which} surface alone."
    return Wiggle(sensors, ask, waiting, waiting, (first.sensor_id,), returns=True, ask_rest=ask)


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

    Raises `NoBoard` (only one sensor works), and as `Runner.run`.
    """
    working = working_sensors(runner.sensors)
    if len(working) < len(BOTH):
        raise NoBoard(
            f"Sensor {working[0]} is the only one that works, expected two",
            "Plug in another sensor; `hingeline boards` shows what answers",
        )
    left = runner.run(find_side(working, "left")).sensor_id
    right, *others = [name for name in working if name != left]
    if others:
        right = runner.run(find_side(working, "right", taken=left)).sensor_id
    sides: dict[Side, str] = {"left": left, "right": right}
    runner.save(lambda: save_sides(runner.store, sides, runner.started))
    runner.record("wiggle", sides=sides)
    return sides
