"""`hingeline boards`: what is plugged in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hingeline.cli.screen import Screen, command, port_option
from hingeline.storage.store import Store

if TYPE_CHECKING:
    from hingeline.device.link.board import BoardLink


@click.command()
@port_option
@command
def boards(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """What is plugged in: boards, their sensors, and whether each is calibrated.

    \b
    Example:
      hingeline boards --json
    """
    from hingeline.device.description import board_fields
    from hingeline.storage.keys import open_fleet

    store = Store()
    with open_fleet(store, ports) as fleet:
        for port, error in fleet.passed_over.items():
            screen.say(f"No board at {port}: {error}")
        fields = [board_fields(link) for link in fleet.boards]
        days = {name: store.last_day("calibration", name) for name in fleet.sensors}
        texts = [_text(link, days) for link in fleet.boards]
    for board in fields:
        board["sensors"] = [
            {**sensor, "calibrated": days[sensor["sensor_id"]]} for sensor in board["sensors"]
        ]
    screen.data("\n".join(texts), boards=fields)
    return 0


def _text(link: BoardLink, days: dict[str, str | None]) -> str:
    from hingeline.device.description import board_line, sensor_line

    lines = [board_line(link)]
    for info in link.sensors:
        day = days[info.sensor_id]
        lines += [
            f"  {info.sensor_id}  {sensor_line(info)}, {f'calibrated {day}' if day else 'not calibrated'}",
            f"    {info.counts_per_g} counts/g, {info.rate_hz} Hz, filter {info.filter_hz} Hz",
        ]
    if not any(info.state == "ok" for info in link.sensors):
        lines.append("  no sensor answers as it should: `hingeline doctor`")
    return "\n".join(lines)
