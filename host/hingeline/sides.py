"""Which sensor sits on which side."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from hingeline.errors import NoBoard, UsageProblem
from hingeline.rig.kinds import Side
from hingeline.samples import SensorInfo


def usable(sensors: Mapping[str, SensorInfo]) -> tuple[str, ...]:
    """Return the ids of the sensors that work, in the order of their boards.

    Raises
    ------
    NoBoard
        There is none; the states of those that were announced are named.
    """
    working = tuple(name for name, info in sensors.items() if info.state == "ok")
    if not working:
        states = ", ".join(f"{name} {info.state}" for name, info in sensors.items()) or "none announced"
        raise NoBoard(
            f"No sensor works ({states})",
            "Check the wires of each module: 3V3, GND, SDA, SCL; `hingeline boards` shows what answers",
        )
    return working


def assign(
    sensors: Mapping[str, SensorInfo], sides: Collection[Side], named: Mapping[Side, str | None]
) -> dict[Side, str]:
    """Return the sensor id of each side: those named, then the working ones in the order of their boards.

    Parameters
    ----------
    sensors
        Everything that was announced.
    sides
        Sides that need a sensor, left before right.
    named
        Sensor ids, or unique beginnings or ends of one, that the user gave for a side.

    Raises
    ------
    NoBoard
        There are fewer sensors than sides.
    UsageProblem
        A name fits no sensor or several, or one sensor is named for two sides.
    """
    working = usable(sensors)
    chosen = {side: find(name, working) for side, name in named.items() if name and side in sides}
    if len(set(chosen.values())) < len(chosen):
        raise UsageProblem(
            f"Sensor {next(iter(chosen.values()))} is named for two sides", "Name one for each side"
        )
    rest = iter([name for name in working if name not in chosen.values()])
    for side in sides:
        if side not in chosen:
            try:
                chosen[side] = next(rest)
            except StopIteration:
                raise NoBoard(
                    f"{len(working)} sensor(s) work, {len(sides)} are needed: {', '.join(sides)}",
                    "Plug in another sensor; `hingeline boards` shows what answers",
                ) from None
    return {side: chosen[side] for side in sides}


def find(name: str, working: tuple[str, ...]) -> str:
    """Return the one working sensor whose id is `name`, or begins or ends with it. Raises `UsageProblem`."""
    found = [sensor for sensor in working if name == sensor] or [
        sensor for sensor in working if sensor.startswith(name) or sensor.endswith(name)
    ]
    if len(found) != 1:
        raise UsageProblem(
            f"{name!r} fits {'no sensor' if not found else 'several sensors'} of {', '.join(working)}",
            "Give a whole sensor id, as `hingeline boards` shows it",
        )
    return found[0]
