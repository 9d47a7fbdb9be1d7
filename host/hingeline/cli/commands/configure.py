"""Show or change the configuration of a board.

\b
Examples:
  hingeline configure
  hingeline configure "name=left wing"
  hingeline configure sensors=lis3dh:0:0x18,lis3dh:1:0x18

\b
Keys:
  name      what you call the board: up to 32 characters of ASCII
  board     its pin map, if MicroPython's name of the board is not enough
  buses     BUS:SDA:SCL,... by GPIO, in place of the pin map's
  spi       on: its SPI buses are used too, for SCL3300
  sensors   CHIP:BUS:ADDRESS,...: only these; an absent one is reported
  lines_hz  lines a second until a host asks otherwise, as hingeline does
  readings  readings summed in a line, likewise
  watchdog  on: a board that hangs while it streams restarts itself

KEY= takes a key back to its default. The board then restarts and lists what answers on its buses. Updates keep the
configuration.
"""

import click

from hingeline.cli.command import cable_option, command
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen


@command(SET_UP, cable_option)
@click.argument("settings", nargs=-1, metavar="[KEY=VALUE]...")
def configure(screen: Screen, cables: tuple[str, ...], settings: tuple[str, ...]) -> None:
    from hingeline.device.install import configuration, installing

    changes = configuration.read_settings(settings)
    for port in cables or (installing.find_port(),):
        values = configuration.configure(port, changes).values
        text, fields = installing.describe_started(port, values["buses"])
        screen.data(f"{configuration.show_settings(values)}\n{text}", configuration=values, **fields)
