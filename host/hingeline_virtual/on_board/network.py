# mypy: ignore-errors
"""The `network` of a virtual board: a network of this machine alone, which can always be joined."""

STA_IF = 0
_host_names = ["virtual"]


def hostname(*name):
    """Set the name that the network knows the board by, or return it."""
    _host_names[:] = name or _host_names
    return _host_names[0]


class WLAN:
    """The board's Wi-Fi."""

    PM_NONE = 0

    def __init__(self, interface):
        self._joined = False
        self._settings = {"pm": 1}

    def config(self, *names, **settings):
        """Change settings, or return one."""
        self._settings.update(settings)
        return self._settings[names[0]] if names else None

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
