"""`hingeline boards`: what is plugged in."""

from __future__ import annotations

import click

from hingeline.cli.screen import Screen, command, port_option
from hingeline.storage.store import Store


@click.command()
@port_option
@command
def boards(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """What is plugged in: boards, their sensors, and whether each is calibrated.

    \b
    Example:
      hingeline boards --json
    """
    from hingeline.device.description import board_fields, board_text
    from hingeline.storage.keys import open_fleet

    store = Store()
    with open_fleet(store, ports) as fleet:
        for port, error in fleet.passed_over.items():
            screen.say(f"No board at {port}: {error}")
        fields = [board_fields(link) for link in fleet.boards]
        days = {name: store.last_day("calibration", name) for name in fleet.sensors}
        texts = [board_text(link, days) for link in fleet.boards]
    for board in fields:
        board["sensors"] = [{**sensor, "calibrated": days[sensor["sensor_id"]]} for sensor in board["sensors"]]
    screen.data("\n".join(texts), boards=fields)
    return 0
