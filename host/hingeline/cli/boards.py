"""`hingeline boards`: what is plugged in."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import click

from hingeline.cli.screen import Screen, command, port_option


@click.command()
@port_option
@click.option("--self-test", is_flag=True, help="Let each chip test itself; keep the sensors still.")
@command
def boards(*, screen: Screen, ports: tuple[str, ...], self_test: bool) -> int:
    """What is plugged in: boards, their sensors, and whether each is calibrated.

    \b
    Example:
      hingeline boards --self-test
    """
    from hingeline.link.fleet import Fleet
    from hingeline.store import Store

    with Fleet(ports) as fleet:
        for port, error in fleet.passed_over.items():
            screen.say(f"No board at {port}: {error.message}.")
        found = [_board(link, Store(), self_test) for link in fleet.boards]
    screen.data("\n".join(_text(board) for board in found), boards=found)
    return 0


def _board(link: Any, store: Any, self_test: bool) -> dict[str, Any]:
    sensors = []
    for index, info in enumerate(link.sensors):
        sensor = {**asdict(info), "calibrated": _calibrated(store, info.sensor_id)}
        if self_test and info.state == "ok":
            sensor["self_test"] = _self_test(link, index)
        sensors.append(sensor)
    return {
        "port": link.port,
        "board": link.board.board,
        "uid": link.board.uid,
        "firmware": link.board.firmware,
        "protocol": link.board.protocol,
        "sensors": sensors,
    }


def _calibrated(store: Any, sensor_id: str) -> str | None:
    """Return the day of the calibration that the store keeps."""
    history = store.history("calibration", sensor_id)
    return history[-1].day if history else None


def _self_test(link: Any, index: int) -> dict[str, Any]:
    """Return what a chip's self-test shows, in counts, or why there is none."""
    from hingeline.errors import BoardRefused

    try:
        tested = link.self_test(index)
    except BoardRefused as refused:
        return {"refused": refused.code}
    return {
        "response_counts": [tested.x, tested.y, tested.z],
        "factory_codes": [tested.x_trim, tested.y_trim, tested.z_trim],
    }


def _text(board: dict[str, Any]) -> str:
    lines = [
        f"{board['board']} at {board['port']}  uid {board['uid']}  firmware {board['firmware']}, "
        f"protocol {board['protocol']}"
    ]
    for sensor in board["sensors"]:
        calibrated = f"calibrated {sensor['calibrated']}" if sensor["calibrated"] else "not calibrated"
        lines.append(
            f"  {sensor['sensor_id']}  {sensor['chip']} on bus {sensor['bus']} at 0x{sensor['address']:02X}  "
            f"{sensor['counts_per_g']} counts/g, {sensor['rate_hz']} Hz, filter {sensor['filter_hz']} Hz  "
            f"{sensor['state']}, {calibrated}"
        )
        if "self_test" in sensor:
            lines.append(f"    self-test: {_test_text(sensor['self_test'])}")
    return "\n".join(lines)


def _test_text(test: dict[str, Any]) -> str:
    if "refused" in test:
        return f"not done ({test['refused']})"
    x, y, z = test["response_counts"]
    return f"x {x:+d}, y {y:+d}, z {z:+d} counts"
