"""Sensors that stopped answering: their chip may have been reset, so the datum of before counts no more for them."""

from __future__ import annotations

from collections.abc import Iterable

from hingeline.storage.store import Store

_DATE = "lost"


def save_lost(store: Store, sensor_id: str, date: str) -> None:
    """Keep that a sensor stopped answering in the run that began at a date, UTC, ISO 8601. Raises `StoreError`."""
    store.save("settings", _key(sensor_id), {_DATE: date})


def lost_since(store: Store, sensor_ids: Iterable[str], date: str) -> frozenset[str]:
    """Those that stopped answering in a run that began later than a date. Raises `DamagedFile`, `NewerFile`."""
    return frozenset(
        sensor_id
        for sensor_id in sensor_ids
        if str((store.find("settings", _key(sensor_id)) or {}).get(_DATE, "")) > date
    )


def _key(sensor_id: str) -> str:
    return f"lost {sensor_id}"
