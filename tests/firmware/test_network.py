"""The settings of a network, and the board in it, on CPython: a stand-in plays the board's `network` and its clock."""

import importlib
import json
import sys
import types

import pytest

from hingeline_firmware import store
from hingeline_protocol import names

KEY, PASSWORD = bytes(range(16)), b"correct horse"


class Wlan:
    """A radio that notes the calls of its methods."""

    def __init__(self, _):
        self.calls = []
        self.joined = False

    def active(self, is_on):
        self.calls.append(("active", is_on))

    def connect(self, name, password):
        self.calls.append(("connect", name, password))

    def disconnect(self):
        self.calls.append(("disconnect",))

    def isconnected(self):
        return self.joined

    def ifconfig(self):
        return ("10.0.0.7", "255.255.255.0", "10.0.0.1", "10.0.0.1")


@pytest.fixture
def wifi(clock, monkeypatch, tmp_path):
    """The firmware's module, in an empty folder that plays the board's files."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delitem(sys.modules, "hingeline_firmware.wifi", raising=False)
    yield importlib.import_module("hingeline_firmware.wifi")
    sys.modules.pop("hingeline_firmware.wifi", None)


# IEEE 802.11: a name has 1 to 32 bytes; IEEE 802.11i, annex H.4.1: a passphrase 8 to 63, or the network is open.
# A TCP port is one of 16 bit, without 0 (RFC 9293). The key's 16 bytes are PROTOCOL.md's.
@pytest.mark.parametrize(
    ("settings", "sound"),
    [
        ((1, b"n", b"", KEY), True),
        ((65535, b"n" * 32, b"p" * 8, KEY), True),
        ((8766, b"n", b"p" * 63, KEY), True),
        ((65536, b"n", b"", KEY), False),
        ((-1, b"n", b"", KEY), False),
        ((0, b"n", b"", KEY), False),
        ((8766, b"", b"", KEY), False),
        ((8766, b"n" * 33, b"", KEY), False),
        ((8766, b"n", b"p" * 7, KEY), False),
        ((8766, b"n", b"p" * 64, KEY), False),
        ((8766, b"n", b"", KEY[:15]), False),
        ((8766, b"n", b"", KEY + b"x"), False),
        ((0, b"", PASSWORD, b""), False),
        ((0, b"", b"", KEY), False),
        ((8766, b"\xff", b"", KEY), False),
        ((8766, b"n", b"\xff" * 8, KEY), False),
    ],
)
def test_only_settings_that_a_network_can_have_are_kept(wifi, settings, sound):
    if sound:
        wifi.save(*settings)
        assert wifi.load() == dict(zip(("port", "name", "password", "key"), settings, strict=True))
        return
    with pytest.raises(wifi.WifiError):
        wifi.save(*settings)
    assert store.load(wifi.FILE) is None


def test_a_network_that_is_turned_off_is_forgotten_in_both_copies(wifi, tmp_path):
    wifi.save(8766, b"hangar", PASSWORD, KEY)
    wifi.save(8767, b"hangar", PASSWORD, KEY)
    wifi.save(0, b"", b"", b"")
    assert wifi.load() is None
    files = [path.read_bytes() for path in tmp_path.iterdir()]
    assert len(files) == 2
    assert not any(PASSWORD.hex().encode() in content for content in files)


@pytest.mark.parametrize(
    "content",
    [
        b"no json",
        b"[]",
        b"{}",
        b'{"port": 8766}',
        json.dumps({"port": 1, "name": "zz", "password": "", "key": ""}).encode(),
    ],
)
def test_stored_settings_that_cannot_be_are_an_error_and_no_crash(wifi, content):
    store.save(wifi.FILE, content)
    with pytest.raises(wifi.WifiError):
        wifi.load()


@pytest.mark.parametrize(
    ("module", "has_wifi"),
    [(None, False), (types.SimpleNamespace(), False), (types.SimpleNamespace(WLAN=Wlan), True)],
    ids=["no network at all", "a network without a radio", "a radio"],
)
def test_a_board_without_a_radio_has_no_wifi(wifi, monkeypatch, module, has_wifi):
    monkeypatch.setitem(sys.modules, "network", module)
    assert wifi.available() is has_wifi


@pytest.fixture
def station(wifi, monkeypatch):
    monkeypatch.setitem(sys.modules, "network", types.SimpleNamespace(WLAN=Wlan, STA_IF=0))
    return wifi.Station(b"hangar", PASSWORD, "hingeline-left")


JOINS = ("connect", "hangar", "correct horse")


def test_a_board_joins_at_its_start_and_says_where_it_is(station):
    assert station._wlan.calls == [("active", True), JOINS]
    assert station.address() == "10.0.0.7"
    station.close()
    assert station._wlan.calls[-1] == ("active", False)


@pytest.mark.parametrize("joined", [True, False])
def test_a_network_that_is_lost_is_joined_again_every_20_seconds(station, clock, joined):
    radio = station._wlan
    radio.joined = joined
    radio.calls.clear()
    for second in range(1, 62):
        clock.now_ms = 1000 * second
        station.step()
    assert radio.calls == ([] if joined else [("disconnect",), JOINS] * 2)


@pytest.mark.parametrize(
    ("name", "host_name"),
    [
        ("left", "hingeline-left"),
        ("Left wing (new)", "hingeline-left-wing-new"),
        ("", "hingeline-27f1a3"),
        ("Flügel", "hingeline-fl-gel"),
        ("--", "hingeline-27f1a3"),
        ("w" * 32, "hingeline-" + "w" * 22),
    ],
)
def test_a_board_has_a_name_that_a_network_can_have(name, host_name):
    """RFC 952 and 1123: letters, digits and hyphens, a letter or a digit at either end."""
    assert names.host_name(name, "e66118604b27f1a3") == host_name
