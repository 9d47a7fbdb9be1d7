# mypy: ignore-errors
"""The `network` of a virtual board: a network of this machine alone, which can always be joined."""

STA_IF = 0


class WLAN:
    """The board's Wi-Fi."""

    def __init__(self, interface):
        self._joined = False

    def active(self, up):
        """Switch it on or off."""
        self._joined = self._joined and up

    def connect(self, name, password):
        """Join a network."""
        self._joined = True

    def disconnect(self):
        """Leave it."""
        self._joined = False

    def isconnected(self):
        """Whether it has joined."""
        return self._joined

    def ifconfig(self):
        """Address, netmask, gateway, name server."""
        return ("127.0.0.1" if self._joined else "0.0.0.0", "255.0.0.0", "127.0.0.1", "127.0.0.1")
