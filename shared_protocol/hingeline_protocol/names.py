"""The name of a board on the network: PROTOCOL.md, section TCP."""

_LETTERS = "abcdefghijklmnopqrstuvwxyz0123456789"
_HOST_NAME_LIMIT = 32
"""Most characters that a board's `network.hostname` takes."""


def host_name(name: str, uid: str) -> str:
    """Make a name for the network out of the name that its owner gave the board, else out of its unique id."""
    letters = [letter if letter in _LETTERS else "-" for letter in name.lower()]
    words = [word for word in "".join(letters).split("-") if word]
    return "-".join(["hingeline"] + (words or [uid[-6:]]))[:_HOST_NAME_LIMIT].rstrip("-")
