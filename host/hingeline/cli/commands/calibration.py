"""Show, export and restore the calibrations of each sensor.

\b
Examples:
  hingeline calibration list
  hingeline calibration show e66166d8e325-104
  hingeline calibration export 104 left-sensor.json

SENSOR is a sensor id, or a beginning or end that fits one alone.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline.cli.command import in_section, port_option, subcommand
from hingeline.cli.commands import KEEP
from hingeline.cli.completing import sensors
from hingeline.cli.group import Group
from hingeline.cli.screen import Screen
from hingeline.errors import NotStored
from hingeline.files.whole import read_ordinary, unreadable, write_whole
from hingeline.storage.sealed import MOST_BYTES, seal, unseal
from hingeline.storage.store import Store

if TYPE_CHECKING:
    from hingeline.storage.calibrations import Place
    from hingeline_calibration.calibration import Calibration

_sensor = click.argument("sensor", shell_complete=sensors)
_file = click.argument("file", type=click.Path(path_type=Path))
_number = click.option(
    "--number", type=click.IntRange(1), metavar="N", help="One of the history. Default: the one in use."
)


@in_section(KEEP)
@click.group(cls=Group, help=__doc__)
def calibration() -> None:
    pass


@subcommand(calibration, "list")
def list_(screen: Screen) -> None:
    """List every calibration kept here, the one in use last.

    \b
    Example:
      hingeline calibration list
    """
    from hingeline.cli.kept import calibration_row, load

    store = Store()
    for sensor_id in store.keys("calibration"):
        for entry in store.history("calibration", sensor_id):
            each = load(store, sensor_id, entry.number)
            screen.data(calibration_row(each, entry.number), number=entry.number, calibration=each.to_dict())
    if not store.keys("calibration"):
        screen.say("None is kept. Calibrate a sensor: `hingeline calibrate`.")


@subcommand(calibration, "show")
@_sensor
@_number
def show(screen: Screen, sensor: str, number: int | None) -> None:
    """Show the calibration of SENSOR, and how certain it is.

    \b
    Examples:
      hingeline calibration show e66166d8e325-104
      hingeline calibration show 104 --number 2

    Parameters, how certain each is, and what decides that.
    """
    from hingeline.cli.kept import calibration_text, load

    chosen = load(Store(), sensor, number)
    screen.data(calibration_text(chosen), calibration=chosen.to_dict())


@subcommand(calibration, "export")
@_sensor
@_file
@_number
def export(screen: Screen, sensor: str, file: Path, number: int | None) -> None:
    """Write the calibration of SENSOR to FILE, to carry or to keep.

    \b
    Example:
      hingeline calibration export 104 left-sensor.json

    Readable, with a checksum.
    """
    from hingeline.cli.kept import load

    chosen = load(Store(), sensor, number)
    content = seal("calibration", chosen.sensor_id, chosen.to_dict(), indent=1)
    write_whole(file, content, elsewhere="name another file")
    text = f"Calibration of {chosen.sensor_id} of {chosen.date} written to {file}."
    screen.data(text, sensor_id=chosen.sensor_id, file=str(file))


@subcommand(calibration, "import")
@_file
def import_(screen: Screen, file: Path) -> None:
    """Take the calibration in FILE into use on this computer.

    \b
    Example:
      hingeline calibration import left-sensor.json

    The one before stays in the history.
    """
    from hingeline_calibration.calibration import Calibration

    cure = "Name a file that `hingeline calibration export` wrote, unchanged"
    try:
        data = read_ordinary(file, MOST_BYTES)
    except FileNotFoundError as error:
        raise NotStored(f"There is no file {file}", cure) from error
    except OSError as error:
        raise unreadable(file, error) from error
    _use(screen, Store(), Calibration.from_dict(unseal(data, file, "calibration", cure=cure)))


@subcommand(calibration, "restore")
@_sensor
@click.argument("number", type=click.IntRange(1))
def restore(screen: Screen, sensor: str, number: int) -> None:
    """Take an earlier calibration of SENSOR into use again.

    \b
    Example:
      hingeline calibration restore 104 2

    NUMBER is the one that `hingeline calibration list` shows. It holds on this computer.
    """
    from hingeline.cli.kept import load

    _use(screen, Store(), load(Store(), sensor, number))


@subcommand(calibration, "choose", port_option)
@_sensor
@click.option(
    "--from",
    "place",
    type=click.Choice(["board", "host"]),
    required=True,
    help="Whose copy holds from now on: the board's, or this computer's.",
)
def choose(screen: Screen, sensor: str, place: Place, ports: tuple[str, ...]) -> None:
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
    with open_fleet(store, ports, screen.say) as fleet:
        chosen = choose_copy(store, fleet, find_sensor(sensor, working_sensors(fleet.sensors)), place)
    text = f"Calibration of {chosen.sensor_id} of {chosen.date} holds, on this computer and on its board."
    screen.data(text, calibration=chosen.to_dict())


def _use(screen: Screen, store: Store, chosen: Calibration) -> None:
    from hingeline.cli.kept import calibration_row

    entry = store.save("calibration", chosen.sensor_id, chosen.to_dict())
    to_board = f"hingeline calibration choose {chosen.sensor_id} --from host"
    screen.say(f"If its board keeps another one: `{to_board}` gives it this one.")
    text = f"{calibration_row(chosen, entry.number)}\nIn use on this computer. Take the datum again."
    screen.data(text, number=entry.number, calibration=chosen.to_dict())
