"""Let a board on its cable join a Wi-Fi NETWORK.

\b
Examples:
  hingeline wifi workshop
  hingeline watch --port socket://192.168.1.20:8771
  hingeline wifi --off

It asks for the password, or takes it from HINGELINE_WIFI_PASSWORD; empty for an open network. The board gets a new key,
which this computer keeps: it accepts only computers that hold the key. Readings cross the network unencrypted: use your
own network.
"""

from __future__ import annotations

import os
import secrets
from time import perf_counter, sleep
from typing import TYPE_CHECKING

import click

from hingeline.cli.command import command, port_option, setting
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen
from hingeline.device.link import KEY_BYTES, KEY_VARIABLE, TCP_PORT
from hingeline.errors import NoBoard, UsageProblem
from hingeline.storage.store import Store
from hingeline_protocol.names import host_name

if TYPE_CHECKING:
    from hingeline.device.link.board import BoardLink

JOIN_S = 30.0
PASSWORD_VARIABLE = "HINGELINE_WIFI_PASSWORD"


@command(SET_UP, port_option)
@click.argument("network", required=False)
@click.option(
    "--off", is_flag=True, help="Take the board off the network: it forgets the network, its password and the key."
)
@setting("--tcp-port tcp_port", click.IntRange(1, 65535), TCP_PORT, "Where it serves.", unit="N")
def wifi(screen: Screen, ports: tuple[str, ...], network: str | None, off: bool, tcp_port: int) -> None:
    from hingeline.storage.keys import open_fleet, save_key

    if off == (network is not None):
        raise UsageProblem("Expected either the name of a network or --off", "`hingeline wifi --help` has examples")
    store = Store()
    with open_fleet(store, ports, screen.say) as fleet:
        if len(fleet.boards) != 1:
            raise UsageProblem(f"{len(fleet.boards)} boards are plugged in, expected one", "Name its port with --port")
        (link,) = fleet.boards
        if network is None:
            link.serve_wifi(0, b"", b"", b"")
            screen.data(f"{link.port} is on no network any more", port=None)
            return
        password = _password(screen)
        key = secrets.token_bytes(KEY_BYTES)
        link.serve_wifi(tcp_port, network.encode(), password.encode(), key)
        proven = link.proves_itself()
        save_key(store, link.board.uid, key, proven)  # at once: the board may be slow to join
        port = f"socket://{_address(link, screen)}:{tcp_port}"
        name = f"socket://{host_name(link.decoder.about.name, link.board.uid)}.local:{tcp_port}"
        kept = save_key(store, link.board.uid, key, proven, (name, port))
        screen.say(f"Its key is kept in {kept}; another computer needs it in {KEY_VARIABLE}.")
        screen.data(f"The board serves at {port}, also as {name}; `hingeline boards` finds it", port=port, name=name)


def _password(screen: Screen) -> str:
    """Take the network's password from the environment or ask for it; it is empty where the network has none."""
    given = os.environ.get(PASSWORD_VARIABLE)
    if given is not None or not screen.asks:
        return given or ""
    entered: str = click.prompt("Password of the network", hide_input=True, default="", show_default=False, err=True)
    return entered


def _address(link: BoardLink, screen: Screen) -> str:
    """Wait until the board has joined, for its address."""
    screen.say("Waiting for the board to join the network.")
    deadline_s = perf_counter() + JOIN_S
    while (address := link.reachable().address) == "0.0.0.0":
        if perf_counter() > deadline_s:
            raise NoBoard(
                f"The board did not join the network within {JOIN_S:.0f} s",
                "Check name and password, and that the network uses 2.4 GHz; then repeat the command",
            )
        sleep(0.5)
    return str(address)
