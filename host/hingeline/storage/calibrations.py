"""Calibrations and the datum, as what a measurement needs of them: kept here, and a calibration on its board, too.

The board carries its calibration to any other computer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Literal

from hingeline.device.link.board import BoardLink
from hingeline.device.link.fleet import Fleet
from hingeline.device.samples import SensorInfo
from hingeline.errors import BoardRefused, CopiesDiffer, DamagedFile, NotMeasurable, NotStored, StoreError
from hingeline.measure.pipeline import Instrument
from hingeline.storage.sealed import seal, unseal
from hingeline.storage.store import Store
from hingeline.units import Side
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.errors import BadRecord, NewerRecord

KIND = "calibration"
Place = Literal["board", "host"]
_ALL_SENSORS = "bench"
"""The key of the one datum that holds all sensors."""


def load_instruments(
    store: Store, sides: Mapping[Side, str], sensors: Mapping[str, SensorInfo]
) -> tuple[Instrument, ...]:
    """Give the sensor of each side its calibration.

    The hinge is taken to run along the carrier's edge, and the model to be still. Raises as `load_calibration`.
    """
    return tuple(Instrument(side, name, load_calibration(store, sensors[name])) for side, name in sides.items())


def load_calibration(store: Store, sensor: SensorInfo) -> Calibration:
    """Read the current calibration of a sensor that answers now.

    Raises `NotStored`, `DamagedFile`, `NewerFile` (there is no usable calibration); `NotMeasurable` (the calibration is
    of another chip than the one that answers).
    """
    calibration = Calibration.from_dict(store.load(KIND, sensor.sensor_id))
    if (calibration.chip, calibration.counts_per_g) != (sensor.chip, sensor.counts_per_g):
        raise NotMeasurable(
            f"Sensor {sensor.sensor_id} is a {sensor.chip} of {sensor.counts_per_g} counts/g; it was calibrated as a "
            f"{calibration.chip} of {calibration.counts_per_g:g}",
            "Calibrate it again: `hingeline calibrate`",
        )
    return calibration


def save_datum(store: Store, datum: Datum) -> None:
    """Make a datum the current one. Raises `StoreError`."""
    store.save("datum", _ALL_SENSORS, datum.to_dict())


def load_datum(store: Store) -> Datum:
    """Read the current datum. Raises `NotStored`, `DamagedFile`, `NewerFile`."""
    return Datum.from_dict(store.load("datum", _ALL_SENSORS))


def find_datum(store: Store) -> Datum | None:
    """Read the current datum, None where there is none. Raises `DamagedFile`, `NewerFile`."""
    try:
        return load_datum(store)
    except NotStored:
        return None


def keep_calibration(store: Store, fleet: Fleet, calibration: Calibration) -> str:
    """Keep a calibration on this computer and on its board, whose stream ends; return words for where it is kept.

    Raises `StoreError` (this computer can't keep it; the board was given it all the same, and the cure says whether it
    has it).
    """
    payload, sensor_id = calibration.to_dict(), calibration.sensor_id
    link, index = fleet.locate(sensor_id)
    not_kept: StoreError | None = None
    try:
        store.save(KIND, sensor_id, payload)
    except StoreError as problem:
        not_kept = problem
    where = "its board keeps it"
    cure = f"then `hingeline calibration choose {sensor_id} --from board` keeps it here too"
    kept = "kept on this computer and on its board"
    try:
        link.stop()  # while it streams, each answer waits for the next beat
        link.store_calibration(index, seal(KIND, sensor_id, payload))
    except (BoardRefused, StoreError) as problem:
        where, cure = f"nor on the board: {problem.message}", "then calibrate it again"
        kept = f"kept on this computer; not on the board: {problem}"
    if not_kept is not None:
        raise StoreError(f"{not_kept.message}; {where}", f"{not_kept.cure}; {cure}") from not_kept
    return kept


def check_copies(store: Store, fleet: Fleet, say: Callable[[str], None]) -> None:
    """Bring this computer the calibrations that only the boards keep, and see that no two copies differ.

    A board's copy that is damaged or another sensor's is left alone: `say` is called with why.

    Raises `CopiesDiffer` (names both copies of a sensor; neither is used); `DamagedFile`, `NewerFile`, `NewerRecord`
    (this computer's copy can't be read, or a later hingeline wrote either).
    """
    for sensor_id in (name for name, info in fleet.sensors.items() if info.state == "ok"):
        link, index = fleet.locate(sensor_id)
        mine = store.find(KIND, sensor_id)
        try:
            same = link.keeps_calibration(index, b"" if mine is None else seal(KIND, sensor_id, mine))
            theirs = None if same else _of_board(link, index, sensor_id)
        except (BoardRefused, DamagedFile) as problem:
            say(f"Sensor {sensor_id}: {problem}")
            continue
        if theirs is None:
            continue
        if mine is None:
            store.save(KIND, sensor_id, theirs)
            say(f"Sensor {sensor_id}: its board brought its calibration of {theirs['date']}; kept here too.")
        elif theirs != mine:
            dates = {"this computer": mine["date"], "its board": theirs["date"]}
            newer = max(dates, key=lambda place: str(dates[place]))
            difference = f"{newer}'s is newer" if mine["date"] != theirs["date"] else "of one date, and not the same"
            raise CopiesDiffer(
                f"Sensor {sensor_id} has two calibrations: on this computer that of {mine['date']}, on its board that "
                f"of {theirs['date']}; {difference}",
                f"Say which holds: `hingeline calibration choose {sensor_id} --from board`, or `--from host`",
            )


def choose_copy(store: Store, fleet: Fleet, sensor_id: str, place: Place) -> Calibration:
    """Make the copy in one place the one in both, and return it.

    Raises `NotStored` (there is none in that place); `HingelineError`, `BadRecord` (it can't be read, or not be kept in
    the other place).
    """
    link, index = fleet.locate(sensor_id)
    if place == "host":
        payload = store.load(KIND, sensor_id)
        link.store_calibration(index, seal(KIND, sensor_id, payload))
        return Calibration.from_dict(payload)
    theirs = _of_board(link, index, sensor_id)
    if theirs is None:
        raise NotStored(
            f"The board at {link.port} keeps no calibration of sensor {sensor_id}",
            f"Give it this computer's: `hingeline calibration choose {sensor_id} --from host`",
        )
    store.save(KIND, sensor_id, theirs)
    return Calibration.from_dict(theirs)


def _of_board(link: BoardLink, index: int, sensor_id: str) -> dict[str, Any] | None:
    """Read a board's copy and see that it is a calibration; None if the board keeps nothing for the sensor."""
    try:
        data = link.fetch_calibration(index)
        if data is None:
            return None
        payload = unseal(data, f"What the board at {link.port} keeps", KIND, sensor_id)
        Calibration.from_dict(payload)
    except NewerRecord:
        raise
    except (DamagedFile, BadRecord) as problem:
        cure = f"Calibrate it again, or give the board this computer's: `hingeline calibration choose {sensor_id}"
        raise DamagedFile(problem.message, f"{cure} --from host`") from problem
    return payload
