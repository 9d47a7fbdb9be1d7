"""`hingeline calibration`: what is kept of each sensor, its history, and its copies."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

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
    from hingeline.cli import kept

    store = Store()
    for sensor_id in store.keys("calibration"):
        for entry in store.history("calibration", sensor_id):
            each = kept.load(store, sensor_id, entry.number)
            screen.data(kept.calibration_row(each, entry.number), number=entry.number, calibration=each.to_dict())
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
    from hingeline.cli import kept

    chosen = kept.load(Store(), sensor, number)
    screen.data(kept.calibration_text(chosen), calibration=chosen.to_dict())
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
    from hingeline.cli import kept

    chosen = kept.load(Store(), sensor, number)
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
    from hingeline.cli import kept

    cure = "Name a file that `hingeline calibration export` wrote, as it wrote it"
    try:
        with open(file, "rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise NotStored(f"There is no file {file}", cure) from error
    except OSError as error:
        raise StoreError(f"{file} can't be read: {in_words(error)}", "Make it readable") from error
    return _use(screen, Store(), kept.calibration_of(unseal(data, file, "calibration", cure=cure)))


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
    from hingeline.cli import kept

    store = Store()
    return _use(screen, store, kept.load(store, sensor, number))


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
    from hingeline.cli import kept

    entry = store.save("calibration", chosen.sensor_id, chosen.to_dict())
    screen.say(
        f"If its board keeps another one: `hingeline calibration choose {chosen.sensor_id} --from host` gives it this "
        "one."
    )
    text = f"{kept.calibration_row(chosen, entry.number)}\nIn use on this computer. Take the datum again."
    screen.data(text, number=entry.number, calibration=chosen.to_dict())
    return 0
