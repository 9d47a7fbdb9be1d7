"""The hinges that `hingeline hinge` found, kept for the visit."""

from __future__ import annotations

from dataclasses import asdict

from hingeline.checks.hinge import Mounting
from hingeline.errors import NotStored
from hingeline.rig.kinds import Side
from hingeline.storage.store import Store, same_visit
from hingeline_calibration.hinge import HingeAxis

_KIND = "hinge"


def keep(store: Store, place: str, found: Mounting, date: str) -> None:
    """Keep where the hinge runs in a sensor that is taped on at a place (`place_of`) now. Raises `StoreError`."""
    payload = {"sensor_id": found.sensor_id, "date": date, **asdict(found.axis)}
    store.save(_KIND, place, payload)


def kept(store: Store, place: str, sensor_id: str, now: str) -> HingeAxis | None:
    """Return the hinge that was found in that sensor at a place (`place_of`) at this visit; else None.

    Raises
    ------
    DamagedFile, NewerFile
        What is kept can't be read.
    """
    try:
        found = store.load(_KIND, place)
    except NotStored:
        return None
    if found["sensor_id"] != sensor_id or not same_visit(found["date"], now):
        return None
    return HingeAxis(tuple(found["direction"]), found["yaw_sd_deg"], found["elevation_sd_deg"])


def place_of(aircraft: str, surface: str, side: Side) -> str:
    """Return the key under which the hinge of a side is kept."""
    return f"{aircraft}, {surface} {side}"
