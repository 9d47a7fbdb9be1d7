"""The Wi-Fi that the board joins: `wifi` in the store. It is set over the cable and never sent back."""

import json
from binascii import hexlify, unhexlify
from time import ticks_diff, ticks_ms

from hingeline_firmware import store

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

FILE = "wifi"
NOT_JOINED = "0.0.0.0"
KEY_BYTES = 16
NAME_BYTES = 32
"""Most bytes of a network's name: IEEE 802.11, SSID element."""
PASSWORD_BYTES = (8, 63)
"""Least and most of a password: IEEE 802.11i, annex H.4.1; none for an open network."""
_REJOIN_MS = 20000


class WifiError(Exception):
    """Settings of a network that cannot be."""


def available():
    """Whether this board has Wi-Fi."""
    try:
        import network
    except ImportError:
        return False
    return hasattr(network, "WLAN")


def save(port, name, password, key):
    """Store the network and the port to serve at; port 0 turns Wi-Fi off.

    Raises
    ------
    WifiError, store.StoreError
        A setting is too short, too long or no text; it does not read back.
    """
    _check(port, name, password, key)
    settings = {"port": port, "name": _text(name), "password": _text(password), "key": _text(key)}
    # The store keeps the former copy too: a password to forget is overwritten in both.
    for _ in range(1 if port else 2):
        store.save(FILE, json.dumps(settings).encode())


def load():
    """Read {port, name, password, key}; None if Wi-Fi is off.

    Raises
    ------
    WifiError, store.StoreError
        The settings cannot be, or are damaged.
    """
    content = store.load(FILE)
    if content is None:
        return None
    try:
        settings: "dict[str, Any]" = json.loads(content)
        port, secrets = settings["port"], [unhexlify(settings[key]) for key in ("name", "password", "key")]
        _check(port, *secrets)
    except (ValueError, KeyError, TypeError, RuntimeError) as error:  # the last where it is nested too deeply
        raise WifiError("the stored settings cannot be read") from error
    return dict(zip(("port", "name", "password", "key"), [port] + secrets)) if port else None


def _check(port, name, password, key):
    shortest, longest = PASSWORD_BYTES
    sound = (
        1 <= port <= 65535
        and 1 <= len(name) <= NAME_BYTES
        and (not password or shortest <= len(password) <= longest)
        and len(key) == KEY_BYTES
    )
    if not sound and (port or name or password or key):
        text = "port 1 to 65535, name 1 to %d bytes, password none or %d to %d, key %d; or nothing at all"
        raise WifiError(text % (NAME_BYTES, shortest, longest, KEY_BYTES))
    try:
        name.decode()
        password.decode()
    except ValueError as error:
        raise WifiError("name and password: expected UTF-8") from error


def _text(data):
    return hexlify(data).decode()


class Station:
    """The board in its network, which it joins again after a loss.

    Raises
    ------
    ImportError, OSError
        This board has no Wi-Fi, or it does not come up.
    """

    def __init__(self, name, password, host_name):
        import network

        if hasattr(network, "hostname"):
            network.hostname(host_name)  # MicroPython answers for it as `host_name`.local, by mDNS
        self._wlan = network.WLAN(network.STA_IF)
        self._awake = False
        self._usual = None
        self._wlan.active(True)
        self._name = name.decode()
        self._password = password.decode()
        self._join()

    def _join(self):
        self._tried_ms = ticks_ms()
        self._wlan.connect(self._name, self._password)

    def step(self):
        """Join again if the network has been lost for a while."""
        if ticks_diff(ticks_ms(), self._tried_ms) > _REJOIN_MS:
            self._tried_ms = ticks_ms()
            if not self._wlan.isconnected():
                self._wlan.disconnect()
                self._join()

    def stay_awake(self, awake):
        """Let the radio save no power, or as it did before: asleep, it holds lines back for up to 0.3 s."""
        if awake == self._awake or not hasattr(self._wlan, "PM_NONE"):
            return
        self._awake = awake
        if awake:
            self._usual = self._wlan.config("pm")
            self._wlan.config(pm=self._wlan.PM_NONE)
        elif self._usual is not None:
            self._wlan.config(pm=self._usual)

    def address(self):
        """The board's address in the network, `NOT_JOINED` before it has one."""
        return self._wlan.ifconfig()[0]

    def close(self):
        """Leave the network."""
        self._wlan.active(False)
