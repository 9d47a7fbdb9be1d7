"""Which sensor sits on which side: as named in a command, as remembered in the store, else in the order of boards."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import get_args

from hingeline.device.samples import SensorInfo
from hingeline.errors import NoBoard, NotStored, UsageProblem
from hingeline.rig.kinds import Side
from hingeline.storage.store import Store, now_text, same_visit

SIDES = "sides"
"""The key of the store's settings under which the sides are remembered."""
_SEEN = "seen"


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


def remember(store: Store, sides: Mapping[Side, str], date: str | None = None) -> None:
    """Keep on which side each sensor was seen, and when: now, or at `date`. Raises `StoreError`.

    What was kept of other sides and sensors stays.
    """
    kept = {side: name for side, name in remembered(store).items() if name not in sides.values()}
    by_side = {str(side): name for side, name in {**kept, **sides}.items()}
    store.save("settings", SIDES, {**by_side, _SEEN: date or now_text()})


def seen(store: Store, sides: Mapping[Side, str], now: str) -> bool:
    """Return whether each of the sensors was seen on its side at this visit. Raises as `remembered`."""
    try:
        kept = store.load("settings", SIDES)
    except NotStored:
        return False
    return same_visit(kept[_SEEN], now) and all(kept.get(side) == name for side, name in sides.items())


def remembered(store: Store) -> dict[Side, str]:
    """Return the sensor id of each side that is remembered. Raises `DamagedFile`, `NewerFile`."""
    try:
        kept = store.load("settings", SIDES)
    except NotStored:
        return {}
    return {side: kept[side] for side in get_args(Side) if side in kept}


def assign(
    sensors: Mapping[str, SensorInfo],
    sides: Collection[Side],
    named: Mapping[Side, str | None],
    kept: Mapping[Side, str],
) -> dict[Side, str]:
    """Return the sensor id of each side: those named, then those remembered, then in the order of boards.

    Parameters
    ----------
    sensors
        Everything that was announced.
    sides
        Sides that need a sensor, left before right.
    named
        Sensor ids, or unique beginnings or ends of one, that the user gave for a side.
    kept
        As `remembered` returns it; who doesn't work now, or is named for another side, is passed over.

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
    for side, name in kept.items():
        if side in sides and side not in chosen and name in working and name not in chosen.values():
            chosen[side] = name
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
