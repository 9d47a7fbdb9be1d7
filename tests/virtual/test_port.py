"""The TCP port of a virtual board, between a host and a program that starts when it likes."""

import socket

import pytest

from hingeline_virtual.port import TcpPort


@pytest.fixture
def port():
    port = TcpPort()
    yield port
    port.close()


def connected(address: str) -> socket.socket:
    """A connection that waits no longer than ten seconds."""
    host, _, number = address.removeprefix("socket://").partition(":")
    return socket.create_connection((host, int(number)), timeout=10)


def test_what_a_host_says_before_the_program_runs_waits_for_it(port):
    """So it is with a pseudo-terminal and with USB: the system keeps what was written."""
    with connected(port.name) as host:
        host.sendall(b"hello\n")
        with connected(port.environment["HINGELINE_CONSOLE"]) as program:
            assert program.recv(100) == b"hello\n"
            program.sendall(b"it is here\n")
            assert host.recv(100) == b"it is here\n"
