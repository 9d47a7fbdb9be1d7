"""`hingeline calibration`: what is kept of each sensor, its history, and its copies."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.completing import sensors
from hingeline.cli.screen import Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.storage.copies import Place
    from hingeline.storage.store import Store
    from hingeline_calibration.calibration import Calibration


@click.group()
def calibration() -> None:
    """What is kept of each sensor: history, copies, one readable file to carry.

    \b
    Examples:
      hingeline calibration list
      hingeline calibration show e66166d8e325-104
      hingeline calibration export 104 left-sensor.json

    SENSOR is a sensor id, or a beginning or end that fits one alone.
    """


@calibration.command("list")
@command
def list_(*, screen: Screen) -> int:
    """List every calibration kept here, the one in use last.

    \b
    Example:
      hingeline calibration list
    """
    from hingeline.storage.store import Store

    store = Store()
    for sensor_id in store.keys("calibration"):
        for entry in store.history("calibration", sensor_id):
            one = _kept(store, sensor_id, entry.number)
            screen.data(_row(one, entry.number), number=entry.number, calibration=one.to_dict())
    if not store.keys("calibration"):
        screen.say("None is kept. Calibrate a sensor: `hingeline calibrate`.")
    return 0


@calibration.command()
@click.argument("sensor", shell_complete=sensors)
@click.option(
    "--number", type=click.IntRange(1), metavar="N", help="One of the history. Default: the one in use."
)
@command
def show(*, screen: Screen, sensor: str, number: int | None) -> int:
    """Show the calibration of SENSOR, and how certain it is.

    \b
    Examples:
      hingeline calibration show e66166d8e325-104
      hingeline calibration show 104 --number 2

    Parameters, how certain each is, and what decides that.
    """
    from hingeline.storage.store import Store

    store = Store()
    one = _kept(store, _sensor(store, sensor), number)
    screen.data(calibration_text(one), calibration=one.to_dict())
    return 0


@calibration.command()
@click.argument("sensor", shell_complete=sensors)
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--number", type=click.IntRange(1), metavar="N", help="One of the history. Default: the one in use."
)
@command
def export(*, screen: Screen, sensor: str, file: Path, number: int | None) -> int:
    """Write the calibration of SENSOR to FILE, to carry or to keep.

    \b
    Example:
      hingeline calibration export 104 left-sensor.json

    Readable, with a checksum.
    """
    from hingeline.storage.files import write_whole
    from hingeline.storage.sealed import seal
    from hingeline.storage.store import Store

    store = Store()
    one = _kept(store, _sensor(store, sensor), number)
    content = seal("calibration", one.sensor_id, one.to_dict(), indent=1)
    write_whole(file, content, elsewhere="name another file")
    screen.data(
        f"Calibration of {one.sensor_id} of {one.date} written to {file}.",
        sensor_id=one.sensor_id,
        file=str(file),
    )
    return 0


@calibration.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@command
def import_(*, screen: Screen, file: Path) -> int:
    """Take the calibration in FILE into use on this computer.

    \b
    Example:
      hingeline calibration import left-sensor.json

    The one before stays in the history.
    """
    from hingeline.errors import NotStored, StoreError, in_words
    from hingeline.storage.sealed import MOST_BYTES, unseal
    from hingeline.storage.store import Store
    from hingeline_calibration.calibration import Calibration

    cure = "Name a file that `hingeline calibration export` wrote, as it wrote it"
    try:
        with open(file, "rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise NotStored(f"There is no file {file}", cure) from error
    except OSError as error:
        raise StoreError(f"{file} can't be read: {in_words(error)}", "Make it readable") from error
    one = Calibration.from_dict(unseal(data, file, "calibration", cure=cure))
    return _take_into_use(screen, Store(), one)


@calibration.command()
@click.argument("sensor", shell_complete=sensors)
@click.argument("number", type=click.IntRange(1))
@command
def restore(*, screen: Screen, sensor: str, number: int) -> int:
    """Take an earlier calibration of SENSOR into use again.

    \b
    Example:
      hingeline calibration restore 104 2

    NUMBER is the one that `hingeline calibration list` tells. It holds on this computer.
    """
    from hingeline.storage.store import Store

    store = Store()
    return _take_into_use(screen, store, _kept(store, _sensor(store, sensor), number))


@calibration.command()
@click.argument("sensor", shell_complete=sensors)
@click.option(
    "--from",
    "place",
    type=click.Choice(["board", "host"]),
    required=True,
    help="Whose copy holds from now on: the board's, or this computer's.",
)
@port_option
@command
def choose(*, screen: Screen, sensor: str, place: Place, ports: tuple[str, ...]) -> int:
    """Settle which copy of SENSOR's calibration holds.

    \b
    Examples:
      hingeline calibration choose 104 --from board
      hingeline calibration choose 104 --from host

    Its board and this computer, the host, keep the same from then on.
    """
    from hingeline.storage.copies import choose_copy
    from hingeline.storage.keys import open_fleet
    from hingeline.storage.sides import find_sensor, working_sensors
    from hingeline.storage.store import Store

    store = Store()
    with open_fleet(store, ports) as fleet:
        one = choose_copy(store, fleet, find_sensor(sensor, working_sensors(fleet.sensors)), place)
    screen.data(
        f"Calibration of {one.sensor_id} of {one.date} holds, on this computer and on its board.",
        calibration=one.to_dict(),
    )
    return 0


def _take_into_use(screen: Screen, store: Store, one: Calibration) -> int:
    entry = store.save("calibration", one.sensor_id, one.to_dict())
    screen.say(
        f"If its board keeps another one: `hingeline calibration choose {one.sensor_id} --from host` gives it this one."
    )
    screen.data(
        f"{_row(one, entry.number)}\nIn use on this computer. Take the datum again.",
        number=entry.number,
        calibration=one.to_dict(),
    )
    return 0


def _sensor(store: Store, name: str) -> str:
    from hingeline.errors import NotStored
    from hingeline.storage.sides import find_sensor

    if not (kept := store.keys("calibration")):
        raise NotStored(
            f"No calibration is kept in {store.root}", "Calibrate a sensor: `hingeline calibrate`"
        )
    return find_sensor(name, kept)


def _kept(store: Store, sensor_id: str, number: int | None) -> Calibration:
    from hingeline_calibration.calibration import Calibration

    return Calibration.from_dict(store.load("calibration", sensor_id, number))


def _row(one: Calibration, number: int) -> str:
    warmth = "" if one.temperature_c is None else f"  {one.temperature_c:.1f} °C"
    poor = f"  POOR: {'; '.join(one.poor)}" if one.poor else ""
    return (
        f"{one.sensor_id}  number {number}  {one.date[:10]}  {len(one.poses)} poses{warmth}  "
        f"residual {one.residual_mg:.2f} mg{poor}"
    )


def calibration_text(one: Calibration) -> str:
    """Return what a reader wants to know of a calibration: parameters, table, carrier, certainty."""
    nominal = one.counts_per_g
    rows = [f"{one.sensor_id}  {one.chip}  calibrated {one.date}"]
    for axis, row, offset in zip("xyz", one.scale_counts_per_g, one.bias_counts, strict=True):
        rows.append(
            f"  {axis}: {row:9.1f} counts/g ({100 * (row / nominal - 1):+.2f} %), "
            f"bias {offset:+8.1f} counts ({1000 * offset / nominal:+.1f} mg)"
        )
    temperature = "" if one.temperature_c is None else f" at {one.temperature_c:.1f} °C"
    rows.append(f"  residual {one.residual_mg:.2f} mg over {len(one.poses)} poses{temperature}")
    rows += [f"  {text}" for text in _findings(one)]
    if one.priors_decide:
        rows.append(
            f"  not seen by these poses, bounded by --squareness and a nearly level table alone: "
            f"{', '.join(one.priors_decide)}"
        )
    rows += [f"  POOR: {reason}" for reason in one.poor]
    return "\n".join(rows)


def _findings(one: Calibration) -> list[str]:
    """Return what the fit found of table, carrier and temperature, and what it leaves uncertain."""
    from hingeline.measure.uncertainty import (
        GOOD_DEG,
        limits_text,
        table_tilt_deg,
        telling_budget,
        worst_square,
    )
    from hingeline_calibration.poses import FACE_WORDS

    rows = []
    tilt_deg = table_tilt_deg(one)
    if tilt_deg is not None:
        rows.append(f"table {tilt_deg:.2f}° off level")
    if not one.priors_decide:
        face, off_deg, deviation_deg = worst_square(one)
        rows.append(
            f"carrier out of square by {off_deg:.2f}° ±{2 * deviation_deg:.2f} at most ({FACE_WORDS[face]})"
        )
    if one.tempco.measured:
        per_c: Any = one.tempco.counts_per_c / one.counts_per_g * 1000
        rows.append(f"bias changes by {', '.join(f'{value:+.2f}' for value in per_c)} mg/°C (x, y, z)")
    budget = telling_budget(one)
    rows.append(
        f"a 45° deflection to ±{2 * budget.standard_uncertainty:.2f}° by this alone, "
        f"{limits_text(budget, enough=GOOD_DEG)}"
    )
    return rows
