"""The hinges that `hingeline hinge` found: they hold while the sensors stay taped on."""

from __future__ import annotations

from dataclasses import asdict

from hingeline.errors import NotStored
from hingeline.storage.store import Store, same_session
from hingeline.units import Side
from hingeline_calibration.hinge import HingeAxis

_KIND = "hinge"


def save_hinge(store: Store, place: str, sensor_id: str, axis: HingeAxis, date: str) -> None:
    """Keep where the hinge runs in a sensor that is taped on at a place (`place_of`). Raises `StoreError`."""
    store.save(_KIND, place, {"sensor_id": sensor_id, "date": date, **asdict(axis)})


def load_hinge(store: Store, place: str, sensor_id: str, now: str) -> HingeAxis | None:
    """Read the hinge that was found in that sensor at a place (`place_of`); None if that was not in this session.

    Raises `DamagedFile`, `NewerFile` (what is kept can't be read).
    """
    try:
        fields = store.load(_KIND, place)
    except NotStored:
        return None
    if fields["sensor_id"] != sensor_id or not same_session(fields["date"], now):
        return None
    return HingeAxis(tuple(fields["direction"]), fields["yaw_sd_deg"], fields["elevation_sd_deg"])


def place_of(aircraft: str, surface: str, side: Side) -> str:
    """Name the place of a side's sensor, under which its hinge is kept."""
    return f"{aircraft}, {surface} {side}"
