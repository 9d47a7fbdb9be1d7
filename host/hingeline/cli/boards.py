"""`hingeline boards`: what is plugged in."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import click

from hingeline.cli.screen import Screen, command, port_option


@click.command()
@port_option
@command
def boards(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """What is plugged in: boards, their sensors, and whether each is calibrated.

    \b
    Example:
      hingeline boards --json
    """
    from hingeline.device.link.fleet import Fleet
    from hingeline.storage.store import Store

    with Fleet(ports) as fleet:
        for port, error in fleet.passed_over.items():
            screen.say(f"No board at {port}: {error}")
        found = [_board(link, Store()) for link in fleet.boards]
    screen.data("\n".join(_text(board) for board in found), boards=found)
    return 0


def _board(link: Any, store: Any) -> dict[str, Any]:
    return {
        "port": link.port,
        "board": link.board.board,
        "name": link.about.name,
        "watchdog": link.about.watchdog,
        "uid": link.board.uid,
        "firmware": link.board.firmware,
        "protocol": link.board.protocol,
        "sensors": [
            {**asdict(info), "calibrated": _calibrated(store, info.sensor_id)} for info in link.sensors
        ],
    }


def _calibrated(store: Any, sensor_id: str) -> str | None:
    """Return the day of the calibration that the store keeps."""
    history = store.history("calibration", sensor_id)
    return history[-1].day if history else None


def _text(board: dict[str, Any]) -> str:
    from hingeline.device.install.report import called

    lines = [
        f"{called(board['board'], board['name'])} at {board['port']}  uid {board['uid']}  "
        f"firmware {board['firmware']}, protocol {board['protocol']}"
    ]
    for sensor in board["sensors"]:
        calibrated = f"calibrated {sensor['calibrated']}" if sensor["calibrated"] else "not calibrated"
        lines.append(
            f"  {sensor['sensor_id']}  {sensor['chip']}  {sensor['state']}, {calibrated}\n"
            f"    bus {sensor['bus']} at 0x{sensor['address']:02X}, {sensor['counts_per_g']} counts/g, "
            f"{sensor['rate_hz']} Hz, filter {sensor['filter_hz']} Hz"
        )
    if not any(sensor["state"] == "ok" for sensor in board["sensors"]):
        lines.append("  no sensor answers as it should: `hingeline doctor`")
    return "\n".join(lines)
