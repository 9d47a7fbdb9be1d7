"""`hingeline calibration`: what is kept of each sensor, its history, and its copies."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.completing import sensors
from hingeline.cli.screen import Screen, command, port_option
from hingeline.errors import NotStored, StoreError, in_words
from hingeline.storage.files import write_whole
from hingeline.storage.sealed import MOST_BYTES, seal, unseal
from hingeline.storage.store import Store

if TYPE_CHECKING:
    from hingeline.storage.calibrations import Place
    from hingeline_calibration.calibration import Calibration

_SENSOR = click.argument("sensor", shell_complete=sensors)
_FILE = click.argument("file", type=click.Path(path_type=Path))
_NUMBER = click.option(
    "--number", type=click.IntRange(1), metavar="N", help="One of the history. Default: the one in use."
)


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
    store = Store()
    for sensor_id in store.keys("calibration"):
        for entry in store.history("calibration", sensor_id):
            each = _load(store, sensor_id, entry.number)
            screen.data(_row(each, entry.number), number=entry.number, calibration=each.to_dict())
    if not store.keys("calibration"):
        screen.say("None is kept. Calibrate a sensor: `hingeline calibrate`.")
    return 0


@calibration.command()
@_SENSOR
@_NUMBER
@command
def show(*, screen: Screen, sensor: str, number: int | None) -> int:
    """Show the calibration of SENSOR, and how certain it is.

    \b
    Examples:
      hingeline calibration show e66166d8e325-104
      hingeline calibration show 104 --number 2

    Parameters, how certain each is, and what decides that.
    """
    chosen = _load(Store(), sensor, number)
    screen.data(calibration_text(chosen), calibration=chosen.to_dict())
    return 0


@calibration.command()
@_SENSOR
@_FILE
@_NUMBER
@command
def export(*, screen: Screen, sensor: str, file: Path, number: int | None) -> int:
    """Write the calibration of SENSOR to FILE, to carry or to keep.

    \b
    Example:
      hingeline calibration export 104 left-sensor.json

    Readable, with a checksum.
    """
    chosen = _load(Store(), sensor, number)
    content = seal("calibration", chosen.sensor_id, chosen.to_dict(), indent=1)
    write_whole(file, content, elsewhere="name another file")
    text = f"Calibration of {chosen.sensor_id} of {chosen.date} written to {file}."
    screen.data(text, sensor_id=chosen.sensor_id, file=str(file))
    return 0


@calibration.command("import")
@_FILE
@command
def import_(*, screen: Screen, file: Path) -> int:
    """Take the calibration in FILE into use on this computer.

    \b
    Example:
      hingeline calibration import left-sensor.json

    The one before stays in the history.
    """
    from hingeline_calibration.calibration import Calibration

    cure = "Name a file that `hingeline calibration export` wrote, as it wrote it"
    try:
        with open(file, "rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise NotStored(f"There is no file {file}", cure) from error
    except OSError as error:
        raise StoreError(f"{file} can't be read: {in_words(error)}", "Make it readable") from error
    return _use(screen, Store(), Calibration.from_dict(unseal(data, file, "calibration", cure=cure)))


@calibration.command()
@_SENSOR
@click.argument("number", type=click.IntRange(1))
@command
def restore(*, screen: Screen, sensor: str, number: int) -> int:
    """Take an earlier calibration of SENSOR into use again.

    \b
    Example:
      hingeline calibration restore 104 2

    NUMBER is the one that `hingeline calibration list` shows. It holds on this computer.
    """
    store = Store()
    return _use(screen, store, _load(store, sensor, number))


@calibration.command()
@_SENSOR
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
    from hingeline.storage.calibrations import choose_copy
    from hingeline.storage.keys import open_fleet
    from hingeline.storage.sides import find_sensor, working_sensors

    store = Store()
    with open_fleet(store, ports) as fleet:
        chosen = choose_copy(store, fleet, find_sensor(sensor, working_sensors(fleet.sensors)), place)
    text = f"Calibration of {chosen.sensor_id} of {chosen.date} holds, on this computer and on its board."
    screen.data(text, calibration=chosen.to_dict())
    return 0


def _use(screen: Screen, store: Store, chosen: Calibration) -> int:
    entry = store.save("calibration", chosen.sensor_id, chosen.to_dict())
    screen.say(
        f"If its board keeps another one: `hingeline calibration choose {chosen.sensor_id} --from host` gives it this "
        "one."
    )
    text = f"{_row(chosen, entry.number)}\nIn use on this computer. Take the datum again."
    screen.data(text, number=entry.number, calibration=chosen.to_dict())
    return 0


def _load(store: Store, sensor: str, number: int | None) -> Calibration:
    """Load a calibration of the only sensor that the name fits."""
    from hingeline.storage.sides import find_sensor
    from hingeline_calibration.calibration import Calibration

    if not (kept := store.keys("calibration")):
        raise NotStored(
            f"No calibration is kept in {store.root}", "Calibrate a sensor: `hingeline calibrate`"
        )
    return Calibration.from_dict(store.load("calibration", find_sensor(sensor, kept), number))


def _row(fit: Calibration, number: int) -> str:
    warmth = "" if fit.temperature_c is None else f"  {fit.temperature_c:.1f} °C"
    poor = f"  POOR: {'; '.join(fit.poor)}" if fit.poor else ""
    return (
        f"{fit.sensor_id}  number {number}  {fit.date[:10]}  {len(fit.poses)} poses{warmth}  "
        f"residual {fit.residual_mg:.2f} mg{poor}"
    )


def calibration_text(fit: Calibration) -> str:
    """Put a calibration into words: parameters, table, carrier, certainty."""
    nominal = fit.counts_per_g
    rows = [f"{fit.sensor_id}  {fit.chip}  calibrated {fit.date}"]
    for axis, row, offset in zip("xyz", fit.scale_counts_per_g, fit.bias_counts, strict=True):
        rows.append(
            f"  {axis}: {row:9.1f} counts/g ({100 * (row / nominal - 1):+.2f} %), "
            f"bias {offset:+8.1f} counts ({1000 * offset / nominal:+.1f} mg)"
        )
    temperature = "" if fit.temperature_c is None else f" at {fit.temperature_c:.1f} °C"
    rows.append(f"  residual {fit.residual_mg:.2f} mg over {len(fit.poses)} poses{temperature}")
    rows += [f"  {text}" for text in _findings(fit)]
    if fit.priors_decide:
        rows.append(
            f"  not measured by these poses, bounded by --squareness and a nearly level table alone: "
            f"{', '.join(fit.priors_decide)}"
        )
    rows += [f"  POOR: {reason}" for reason in fit.poor]
    return "\n".join(rows)


def _findings(fit: Calibration) -> list[str]:
    """What the fit says of table, carrier and temperature, and what it leaves uncertain."""
    from hingeline.measure import uncertainty
    from hingeline_calibration.poses import FACE_WORDS

    rows = []
    if (tilt_deg := uncertainty.table_tilt_deg(fit)) is not None:
        rows.append(f"table {tilt_deg:.2f}° off level")
    if not fit.priors_decide:
        face, off_deg, deviation_deg = uncertainty.worst_square(fit)
        rows.append(
            f"carrier out of square by {off_deg:.2f}° ±{2 * deviation_deg:.2f} at most ({FACE_WORDS[face]})"
        )
    if fit.tempco.measured:
        per_c: Any = fit.tempco.counts_per_c / fit.counts_per_g * 1000
        rows.append(f"bias changes by {', '.join(f'{value:+.2f}' for value in per_c)} mg/°C (x, y, z)")
    budget = uncertainty.telling_budget(fit)
    rows.append(
        f"a 45° deflection to ±{2 * budget.standard_uncertainty:.2f}° by this alone, "
        f"{uncertainty.limits_text(budget, enough=uncertainty.GOOD_DEG)}"
    )
    return rows
