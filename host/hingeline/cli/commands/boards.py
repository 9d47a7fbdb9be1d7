"""What is plugged in: boards, sensors, calibrations.

\b
Example:
  hingeline boards --json
"""

import click

from hingeline.cli.command import command, port_option
from hingeline.cli.screen import Screen
from hingeline.storage.store import Store


@command("Boards", port_option)
@click.option(
    "--identify", is_flag=True, help="Let them blink for ten seconds: with --port you see which board that is."
)
def boards(screen: Screen, ports: tuple[str, ...], identify: bool) -> None:
    from hingeline.device.description import board_fields, board_text
    from hingeline.storage.keys import open_fleet

    store = Store()
    with open_fleet(store, ports, screen.say) as fleet:
        for port, error in fleet.passed_over.items():
            screen.say(f"No board at {port}: {error}")
        for link in fleet.boards if identify else ():
            if not link.identify():
                screen.say(
                    f"{link.port} can't blink: its firmware is older. Run `hingeline install --port {link.port}`"
                )
        fields = [board_fields(link) for link in fleet.boards]
        days = {name: store.last_day("calibration", name) for name in fleet.sensors}
        texts = [board_text(link, days) for link in fleet.boards]
    for board in fields:
        board["sensors"] = [{**sensor, "calibrated": days[sensor["sensor_id"]]} for sensor in board["sensors"]]
    screen.data("\n".join(texts), boards=fields)
