"""List boards, sensors and calibrations, at the ports or on the network.

\b
Example:
  hingeline boards --json
"""

from typing import Any

import click

from hingeline.cli.command import command, port_option
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen
from hingeline.errors import HingelineError, NoBoard
from hingeline.storage.store import Store


@command(SET_UP, port_option)
@click.option(
    "--identify", is_flag=True, help="Make the boards blink for ten seconds: with --port you see which board that is."
)
def boards(screen: Screen, ports: tuple[str, ...], identify: bool) -> None:
    from hingeline.device.description import board_fields, board_text
    from hingeline.storage.keys import network_ports, open_fleet

    store = Store()
    fields: list[dict[str, Any]] = []
    texts: list[str] = []

    def show(asked: tuple[str, ...]) -> None:
        with open_fleet(store, asked, screen.say) as fleet:
            for port, error in fleet.passed_over.items():
                screen.say(f"No board at {port}: {error}")
            for link in fleet.boards if identify else ():
                if not link.identify():
                    cure = f"Run `hingeline install --port {link.port}`"
                    screen.say(f"{link.port} can't blink: its firmware is older. {cure}")
            days = {name: store.last_day("calibration", name) for name in fleet.sensors}
            for link in fleet.boards:
                board = board_fields(link)
                sensors = [{**sensor, "calibrated": days[sensor["sensor_id"]]} for sensor in board["sensors"]]
                fields.append({**board, "sensors": sensors})
                texts.append(board_text(link, days))

    def show_on_network(uid: str, places: tuple[str, ...]) -> None:
        for port in places:
            try:
                return show((port,))
            except HingelineError as error:
                screen.say(f"Board {uid} is not at {port}: {error.message}.")

    elsewhere = {} if ports else {uid: places for uid, places in network_ports(store).items() if places}
    try:
        show(ports)
    except NoBoard:
        if not elsewhere:
            raise
    for uid, places in elsewhere.items():
        if uid not in [board["uid"] for board in fields]:
            show_on_network(uid, places)
    if not fields:
        raise NoBoard(
            "No board was found, on a cable or on the network", "Plug a board in, or name its port with --port"
        )
    screen.data("\n".join(texts), boards=fields)
