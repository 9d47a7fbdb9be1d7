"""How the sensors sit on the aircraft: which on which side, and where the hinge runs in it.

A side has the sensor that the command names, else the one that is kept, else the next in the order of boards. The
hinges that `hingeline hinge` found hold while the sensors stay taped on.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import asdict
from typing import get_args

from hingeline.device.samples import SensorInfo
from hingeline.errors import NoBoard, UsageProblem
from hingeline.storage.clock import is_of_session
from hingeline.storage.store import Store, now_text
from hingeline.units import Side
from hingeline_calibration.hinge import HingeAxis

SIDES = "sides"
"""The key of the store's settings under which the sides are kept."""
_DATE = "seen"
_HINGE = "hinge"


def working_sensors(sensors: Mapping[str, SensorInfo]) -> tuple[str, ...]:
    """List the ids of the sensors that work, in the order of their boards.

    Raises `NoBoard` (there is none; the states of those that were announced are named).
    """
    working = tuple(name for name, info in sensors.items() if info.state == "ok")
    if not working:
        states = ", ".join(f"{name} {info.state}" for name, info in sensors.items()) or "none announced"
        raise NoBoard(
            f"No sensor works ({states})",
            "Check the wires of each module: 3V3, GND, SDA, SCL; `hingeline boards` shows what answers",
        )
    return working


def save_sides(store: Store, sides: Mapping[Side, str], date: str | None = None) -> None:
    """Keep on which side each sensor is, and since when: now, or `date`. Raises `StoreError`.

    What was kept of other sides and sensors stays.
    """
    others = {side: name for side, name in load_sides(store).items() if name not in sides.values()}
    by_side = {str(side): name for side, name in {**others, **sides}.items()}
    store.save("settings", SIDES, {**by_side, _DATE: date or now_text()})


def sides_known(store: Store, sides: Mapping[Side, str], now: str) -> bool:
    """Whether each of the sensors was on its side earlier in this session. Raises as `load_sides`."""
    fields = store.find("settings", SIDES) or {}
    return _DATE in fields and is_of_session(store, fields[_DATE], now) and sides.items() <= fields.items()


def load_sides(store: Store) -> dict[Side, str]:
    """Read the sensor id of each side that is kept. Raises `DamagedFile`, `NewerFile`."""
    fields = store.find("settings", SIDES) or {}
    return {side: fields[side] for side in get_args(Side) if side in fields}


def assign_sides(
    sensors: Mapping[str, SensorInfo],
    sides: Collection[Side],
    named: Mapping[Side, str | None],
    kept: Mapping[Side, str],
) -> dict[Side, str]:
    """Choose a sensor for each side: the one named, else the one kept, else the next in the order of boards.

    `sensors` are all that were announced, `sides` go left before right. A name in `named` is a sensor id, or the
    beginning or end of a single one. What is `kept` of a sensor that doesn't work now, or is named for another side, is
    passed over.

    Raises `NoBoard` (there are fewer sensors than sides); `UsageProblem` (a name fits no sensor or several, or one
    sensor is named for two sides).
    """
    working = working_sensors(sensors)
    chosen = {side: find_sensor(name, working) for side, name in named.items() if name and side in sides}
    if len(set(chosen.values())) < len(chosen):
        raise UsageProblem(f"Sensor {next(iter(chosen.values()))} is named for two sides", "Name one for each side")
    for side, name in kept.items():
        if side in sides and side not in chosen and name in working and name not in chosen.values():
            chosen[side] = name
    free = [name for name in working if name not in chosen.values()]
    missing = [side for side in sides if side not in chosen]
    if len(free) < len(missing):
        raise NoBoard(
            f"{len(working)} sensor(s) work, {len(sides)} are needed: {', '.join(sides)}",
            "Plug in another sensor; `hingeline boards` shows what answers",
        )
    chosen.update(zip(missing, free, strict=False))
    return {side: chosen[side] for side in sides}


def find_sensor(name: str, working: tuple[str, ...]) -> str:
    """Find the one sensor whose id is `name`, or begins or ends with it. Raises `UsageProblem`."""
    fitting = [sensor for sensor in working if name == sensor] or [
        sensor for sensor in working if sensor.startswith(name) or sensor.endswith(name)
    ]
    if len(fitting) != 1:
        raise UsageProblem(
            f"{name!r} fits {'several sensors' if fitting else 'no sensor'} of {', '.join(working)}",
            "Give a whole sensor id, as `hingeline boards` shows it",
        )
    return fitting[0]


def save_hinge(store: Store, place: str, sensor_id: str, axis: HingeAxis, date: str) -> None:
    """Keep where the hinge runs in a sensor that is taped on at a place (`place_of`). Raises `StoreError`."""
    store.save(_HINGE, place, {"sensor_id": sensor_id, "date": date, **asdict(axis)})


def load_hinge(store: Store, place: str, sensor_id: str, now: str) -> HingeAxis | None:
    """Read the hinge that was found in that sensor at a place (`place_of`); None if that was not in this session.

    Raises `DamagedFile`, `NewerFile` (what is kept can't be read).
    """
    fields = store.find(_HINGE, place)
    if fields is None or fields["sensor_id"] != sensor_id or not is_of_session(store, fields["date"], now):
        return None
    alone, by_calibration = fields.get("alone"), tuple(map(tuple, fields.get("by_calibration", ())))
    sds_deg = fields["yaw_sd_deg"], fields["elevation_sd_deg"]
    return HingeAxis(tuple(fields["direction"]), *sds_deg, None if alone is None else tuple(alone), by_calibration)


def place_of(aircraft: str, surface: str, side: Side) -> str:
    """Name the place of a side's sensor, under which its hinge is kept."""
    return f"{aircraft}, {surface} {side}"
