"""Ports that can't be had, and strangers behind those that can: each with its cause and its cure."""

import errno
import os
import socket
import subprocess
import sys
import threading
from time import sleep

import pytest
from tests.posix import grp
from tests.unix_port import micropython

from hingeline.device.link import conversation, ports
from hingeline.device.link.board import BoardLink
from hingeline.device.link.ports import open_port
from hingeline.errors import NoBoard, PortBusy, PortForbidden, UsageProblem, WrongFirmware

NOBODY = 65534


@pytest.fixture
def impatient(monkeypatch):
    """One short try at an introduction."""
    monkeypatch.setattr(conversation, "START_S", 0.5)


def open_link(port):
    return BoardLink(port, lambda arrived: None)


def test_a_port_that_is_not_there(tmp_path):
    with pytest.raises(NoBoard, match=r"There is no .*nothing. Plug the board in") as error:
        open_port(str(tmp_path / "nothing"))
    assert error.value.exit_status == 3
    assert error.value.__cause__ is not None


@pytest.mark.parametrize(
    ("port", "url"),
    [
        ("192.168.1.20", "socket://192.168.1.20:8771"),
        ("shed.local", "socket://shed.local:8771"),
        ("192.168.1.20:9000", "socket://192.168.1.20:9000"),
    ],
)
def test_a_host_is_told_how_to_write_it_as_a_port(port, url):
    with pytest.raises(NoBoard) as error:
        open_port(port)
    assert error.value.message == f"There is no device {port}"
    assert error.value.cure == f"Write {url} if it is a board on the network"


@pytest.mark.parametrize("port", ["gopher://bench", "socket://bench:99999"])
def test_what_is_no_port(port):
    with pytest.raises((UsageProblem, NoBoard), match="bench"):
        open_port(port)


def test_an_address_without_a_port_is_told_as_such():
    with pytest.raises(UsageProblem, match="'socket://bench' is no port: it names no host:port") as error:
        open_port("socket://bench")
    assert error.value.exit_status == 2


def test_a_file_that_is_no_serial_port(tmp_path):
    path = tmp_path / "file"
    path.write_text("")
    with pytest.raises(NoBoard, match=r"can't be opened as a serial port \(it is no such device\)"):
        open_port(str(path))


def test_a_tcp_port_where_nobody_listens():
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = "socket://{}:{}".format(*server.getsockname())
    with pytest.raises(NoBoard, match=rf"Nothing answers at {port} \(nothing listens there\)"):
        open_port(port)


def test_what_came_before_a_hang_up_is_read_before_it():
    with socket.create_server(("127.0.0.1", 0)) as server:
        channel = open_port("socket://{}:{}".format(*server.getsockname()))
        far, _ = server.accept()
        far.sendall(b"the last line")
        far.close()
        assert channel.wait(10)
        assert channel.read() == b"the last line"
        assert channel.wait(10)
        with pytest.raises(ConnectionResetError, match="hang-up"):
            channel.read()
        channel.close()


def test_all_that_has_arrived_over_tcp_is_taken_at_once():
    with socket.create_server(("127.0.0.1", 0)) as server:
        channel = open_port("socket://{}:{}".format(*server.getsockname()))
        far, _ = server.accept()
        far.sendall(b"x" * 20_000)
        assert channel.wait(10)
        sleep(0.1)
        assert channel.read() == b"x" * 20_000
        far.close()
        channel.close()


def test_a_connection_that_is_forbidden_names_the_firewall():
    """WSAEACCES on Windows, EPERM or EACCES on macOS without the right to the local network."""
    refusal = ports._refusal("socket://192.168.1.20:8771", PermissionError(errno.EACCES, "Permission denied"))
    assert isinstance(refusal, NoBoard)
    assert "firewall" in refusal.cure


HOLDER = """
import sys
from hingeline.device.link.ports import open_port
channel = open_port(sys.argv[1])
print("held", flush=True)
sys.stdin.read()
"""


def test_a_port_that_another_process_holds_names_it(pty_end):
    command = [sys.executable, "-c", HOLDER, pty_end[1]]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as holder:
        try:
            assert holder.stdout.readline() == b"held\n"
            with pytest.raises(PortBusy, match=rf"is held by `python\S* -c .*` \(process {holder.pid}\)") as error:
                open_port(pty_end[1])
        finally:
            holder.kill()
    assert error.value.exit_status == 4
    open_port(pty_end[1]).close()


@pytest.fixture
def forbidden(pty_end):
    """A port that the user may not open, but its group may."""
    port = pty_end[1]
    os.chmod(port, 0o060)
    if os.geteuid() == 0:
        os.chown(port, 0, next(group.gr_gid for group in grp.getgrall() if group.gr_gid))
        os.seteuid(NOBODY)
    yield port
    if os.getuid() == 0:
        os.seteuid(0)


def test_a_forbidden_port_names_the_group_and_the_command(forbidden):
    group = grp.getgrgid(os.stat(forbidden).st_gid).gr_name
    with pytest.raises(PortForbidden) as error:
        open_port(forbidden)
    assert error.value.exit_status == 4
    assert f"`sudo usermod -aG {group} $USER`, log out and in again" in error.value.cure


def test_a_port_forbidden_to_its_group_too_has_another_cure(pty_end):
    os.chmod(pty_end[1], 0o600)
    refusal = ports._refusal(pty_end[1], PermissionError(errno.EACCES, "Permission denied"))
    assert isinstance(refusal, PortForbidden)
    assert f"`sudo chmod a+rw {pty_end[1]}`" in refusal.cure


def test_a_silent_port_is_told(pty_end, impatient):
    with pytest.raises(NoBoard, match="opens, but nothing answers there"):
        open_link(pty_end[1])
    open_port(pty_end[1]).close()


def test_a_board_without_our_firmware_is_told(pty_end, impatient):
    """The prompt of real MicroPython."""
    near, port = pty_end
    with subprocess.Popen([micropython(), "-i"], stdin=near, stdout=near, stderr=near) as prompt:
        try:
            with pytest.raises(WrongFirmware, match="is no hingeline board; it says ") as error:
                open_link(port)
        finally:
            prompt.kill()
    assert error.value.exit_status == 5


def test_a_port_that_echoes_is_no_board(pty_end, impatient):
    near, port = pty_end
    echo = threading.Thread(target=lambda: os.write(near, os.read(near, 1000)))
    echo.start()
    with pytest.raises(WrongFirmware, match="says 'status 65535"):
        open_link(port)
    echo.join()
