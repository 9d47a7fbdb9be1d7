"""`hingeline configure`: what a board is told to be."""

from __future__ import annotations

import click

from hingeline.cli.screen import Screen, cable_option, command


@click.command()
@click.argument("settings", nargs=-1, metavar="[KEY=VALUE]...")
@cable_option
@command
def configure(*, screen: Screen, cables: tuple[str, ...], settings: tuple[str, ...]) -> None:
    """Show what a board is told to be, or change it: name, pins, chips, rate.

    \b
    Examples:
      hingeline configure
      hingeline configure "name=left wing"
      hingeline configure buses=0:8:9,1:10:11
      hingeline configure sensors=lis3dh:0:0x18,lis3dh:1:0x18
      hingeline configure sensors=

    \b
    Keys:
      name      what you call the board: up to 32 characters of ASCII
      board     its pin map, where its microcontroller does not tell it
      buses     BUS:SDA:SCL,... by GPIO, in place of the pin map's
      sensors   CHIP:BUS:ADDRESS,...: sought nowhere else, missed when absent
      lines_hz  lines a second until a host asks otherwise, as hingeline does
      readings  readings summed in a line, likewise
      watchdog  on: a board that hangs while it streams restarts itself

    KEY= takes a key back to its default. The board keeps old or new whatever cuts it off, then restarts and tells what
    it finds. Updates keep it.
    """
    from hingeline.device.description import board_fields, wired_text
    from hingeline.device.install import configuration
    from hingeline.device.install.installing import find_port, introduced

    changes = configuration.read(settings)
    for port in cables or (find_port(),):
        told = configuration.configure(port, changes)
        link = introduced(port)
        try:
            text = f"{configuration.show(told.values)}\n{wired_text(link, told.values['buses'])}"
            notices = list(dict.fromkeys(link.notices))
            screen.data(text, configuration=dict(told.values), **board_fields(link), notices=notices)
        finally:
            link.close()
