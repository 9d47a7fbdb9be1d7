"""Ports as they are on Windows, on any system: pyserial alone, without descriptors, its errors numbers in a text.

The texts are those that pyserial 3.5 makes of `ctypes.WinError()` (`serialwin32.py`), the numbers those of winerror.h.
"""

import errno
import sys
import threading

import pytest
import serial
from serial.tools.list_ports_common import ListPortInfo
from tests.boards import take
from tests.posix import needs_posix

from hingeline.device.link import channels
from hingeline.device.link.channels import SILICON_LABS, SerialChannel
from hingeline.device.link.devices import permission
from hingeline.device.link.fleet import Fleet
from hingeline.device.link.ports import open_port
from hingeline.device.samples import BoardGone
from hingeline.errors import NoBoard, PortBusy, in_words

DENIED = "PermissionError(13, 'Access is denied.', None, 5)"
UNKNOWN_COMMAND = "PermissionError(13, 'The device does not recognize the command.', None, 22)"
NOT_FOUND = "FileNotFoundError(2, 'The system cannot find the file specified.', None, 2)"
NO_PATH = "FileNotFoundError(2, 'The system cannot find the path specified.', None, 3)"
NOT_FUNCTIONING = "OSError(22, 'A device attached to the system is not functioning.', None, 31)"
SEMAPHORE = "OSError(22, 'The semaphore timeout period has expired.', None, 121)"


class WindowsPort(serial.Serial):
    """A port of this system that has what pyserial has on Windows, and can't be set up anew."""

    buffer_bytes = 0

    def set_buffer_size(self, rx_size=4096, tx_size=None):
        self.buffer_bytes = rx_size

    def _reconfigure_port(self, force_update=False):
        assert not self.buffer_bytes, "another thread may be writing"
        super()._reconfigure_port(force_update)

    def _update_dtr_state(self):
        """A pty has no such line."""

    _update_rts_state = _update_dtr_state


class FakePort:
    """A port that writes down what is done with it, and fails as it is told."""

    def __init__(self, text=None):
        self.text, self.done = text, []

    def __setattr__(self, name, value):
        super().__setattr__(name, value)
        if name in ("dtr", "rts"):
            self.done.append((name, value))

    def open(self):
        self.done.append("open")
        if self.text:
            raise serial.SerialException(self.text)

    def close(self):
        self.done.append("close")

    def set_buffer_size(self, size):
        self.done.append(size)

    def read(self, size=1):
        raise serial.SerialException(self.text)

    def write(self, data):
        raise serial.SerialTimeoutException("Write timeout")


@pytest.fixture
def opened(monkeypatch):
    """A function that opens COM3, a port of a vendor, on Windows: it is given the port that pyserial would make."""
    monkeypatch.setattr(channels, "WINDOWS", True)

    def open_as(port, name="COM3", vendor=SILICON_LABS):
        info = ListPortInfo("COM3")
        info.vid = vendor
        monkeypatch.setattr(channels.list_ports, "comports", lambda: [info])
        monkeypatch.setattr(serial, "serial_for_url", lambda url, do_not_open, **settings: port)
        return open_port(name)

    return open_as


@needs_posix("a pty in place of the port")
def test_a_board_streams_and_is_pulled_out(own_bench, monkeypatch):
    monkeypatch.setattr(channels, "WINDOWS", True)
    ports = []

    def make(url, do_not_open, **settings):
        ports.append(WindowsPort(None, **settings))
        ports[-1].port = url
        return ports[-1]

    monkeypatch.setattr(serial, "serial_for_url", make)
    with Fleet([own_bench.ports["alpha"]]) as fleet:
        (port,) = ports
        assert port.buffer_bytes == 65536
        fleet.start()
        assert len(take(fleet, 200)) == 200
        assert fleet.counts[port.port].bad == 0
        own_bench.do("unplug", board="alpha")
        gone = [event for event in fleet if isinstance(event, BoardGone)]
    assert "was pulled out" in str(gone[0].error)


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        (f"could not open port 'COM9': {NOT_FOUND}", NoBoard, "There is no com9"),
        (f"could not open port '/dev/ttyACM0': {NO_PATH}", NoBoard, "There is no com9"),
        (f"could not open port 'com3': {DENIED}", PortBusy, "com9 is held by another program"),
        (f"could not open port 'COM9': {SEMAPHORE}", NoBoard, "it gave no answer in time"),
        (
            f"Cannot configure port, something went wrong. Original message: {NOT_FUNCTIONING}",
            NoBoard,
            "com9 can't be opened as a serial port (the device gives an error or is gone)",
        ),
    ],
)
def test_a_port_that_can_not_be_opened_is_told_by_the_number_of_its_error(opened, text, kind, message):
    with pytest.raises(kind) as error:
        opened(FakePort(text), "com9")
    assert message in error.value.message


def test_an_unplugged_port_is_told_by_the_number_of_its_error():
    for text in (f"ClearCommError failed ({UNKNOWN_COMMAND})", f"GetOverlappedResult failed ({DENIED})"):
        with pytest.raises(OSError, match="failed") as error:
            SerialChannel(FakePort(text)).wait(1)
        assert in_words(error.value) == "the device is gone"


def test_a_port_that_takes_no_bytes_is_told_as_such():
    with pytest.raises(TimeoutError) as error:
        SerialChannel(FakePort()).write(b"x")
    assert error.value.errno == errno.ETIMEDOUT


def test_dtr_and_rts_come_in_the_order_that_resets_no_esp32(opened):
    """As mpremote sets them (`transport_serial.py`): off while the port is opened, then DTR before RTS."""
    port = FakePort()
    opened(port, "com3")
    assert port.done == [("dtr", False), ("rts", False), "open", 65536, ("dtr", True), ("rts", True)]


def test_rts_goes_first_when_a_port_is_closed(opened):
    """As mpremote closes one: an ESP32 restarts where it still has RTS and no DTR."""
    port = FakePort()
    channel = opened(port)
    port.done.clear()
    channel.close()
    assert port.done == [("rts", False), ("dtr", False), "close"]


def test_a_forbidden_port_is_another_program_s(monkeypatch):
    """Windows has neither groups nor modes that a person could be told to change."""
    monkeypatch.setattr(sys, "platform", "win32")
    assert permission("COM3") is None


def test_dtr_is_on_from_the_start_for_a_board_on_its_own_usb(opened):
    """MicroPython's USB takes DTR for a host that listens."""
    port = FakePort()
    opened(port, vendor=0x2E8A)
    assert ("dtr", False) not in port.done


def test_who_waits_for_a_port_is_woken(pty_end, tcp_end):
    """Before the test's time limit: without the call the wait would last an hour."""
    for channel in (open_port(pty_end[1]), open_port(tcp_end), SerialChannel(serial.Serial(pty_end[1], timeout=3600))):
        threading.Timer(0.2, channel.wake).start()
        assert not channel.wait(3600)
        channel.close()
