"""The port of a virtual board, which the host opens: a pseudo-terminal, or a TCP port where there are none."""

from __future__ import annotations

import contextlib
import os
import socket
import sys
import threading
from pathlib import Path
from typing import Protocol


class Port(Protocol):
    """A port of a board."""

    @property
    def name(self) -> str:
        """The name that the host opens."""

    @property
    def environment(self) -> dict[str, str]:
        """What the board's process needs in its environment."""

    @property
    def console(self) -> int | None:
        """Descriptor of the process's standard input and output, or None if it connects by itself."""

    def close(self) -> None:
        """Close it: a host that has it open loses the connection."""


if sys.platform != "win32":
    import pty
    import tty

    class PtyPort:
        """A pseudo-terminal behind a stable link.

        The bench holds its far end open too: else the board would read an error while no host has it open.
        """

        def __init__(self, link: Path) -> None:
            self.console, self._far = pty.openpty()
            tty.setraw(self._far)
            self._link = link
            link.symlink_to(os.ttyname(self._far))
            self.name = str(link)
            self.environment: dict[str, str] = {}

        def close(self) -> None:
            """Close both ends."""
            self._link.unlink()
            os.close(self.console)
            os.close(self._far)


class TcpPort:
    """A TCP port on this machine, for one host at a time.

    As with a pseudo-terminal, lines that no host reads are lost, and what a host says waits for the board's program.
    """

    console: None = None

    def __init__(self) -> None:
        self._outside = socket.create_server(("127.0.0.1", 0))
        self._inside = socket.create_server(("127.0.0.1", 0))
        self._host: socket.socket | None = None
        self._board: socket.socket | None = None
        self._runs = threading.Event()
        self.name = "socket://{}:{}".format(*self._outside.getsockname())
        self.environment = {"HINGELINE_CONSOLE": "{}:{}".format(*self._inside.getsockname())}
        for relay in (self._from_board, self._from_host):
            threading.Thread(target=relay, daemon=True).start()

    def close(self) -> None:
        """Close both ends."""
        self._runs.set()
        for end in (self._outside, self._inside, self._host, self._board):
            if end is not None:
                with contextlib.suppress(OSError):  # the other side closed first
                    end.shutdown(socket.SHUT_RDWR)
                end.close()

    def _from_board(self) -> None:
        while board := _accept(self._inside):
            self._board = board
            self._runs.set()
            while data := _receive(board):
                if self._host is not None:
                    _send(self._host, data)
            self._runs.clear()
            board.close()

    def _from_host(self) -> None:
        while host := _accept(self._outside):
            self._host = host
            while data := _receive(host):
                self._runs.wait()
                if self._board is not None:
                    _send(self._board, data)
            self._host = None
            host.close()


def _accept(server: socket.socket) -> socket.socket | None:
    """Wait for the next connection; None once the server is closed."""
    try:
        connection, _ = server.accept()
    except OSError:
        return None
    connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return connection


def _receive(connection: socket.socket) -> bytes:
    """Wait for data; nothing once either side has closed."""
    try:
        return connection.recv(4096)
    except OSError:
        return b""


def _send(connection: socket.socket, data: bytes) -> None:
    """Send data; if the connection is lost, the receiving side notices."""
    with contextlib.suppress(OSError):
        connection.sendall(data)


def open_port(link: Path, tcp: bool) -> Port:
    """A pseudo-terminal behind `link`; a TCP port if that is asked for, and where the system has no other."""
    if sys.platform != "win32" and not tcp:
        return PtyPort(link)
    return TcpPort()
