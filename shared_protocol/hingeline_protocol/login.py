"""What both ends of a TCP connection sign at the login: PROTOCOL.md, section TCP."""

NONCE_BYTES = 16
BOARD, HOST = b"board", b"host"
"""Who signs. A board's proof is not valid as a host's, so neither can be sent back."""


def signed_text(role: bytes, host_nonce: bytes, board_nonce: bytes, uid: str) -> bytes:
    """Make the text whose HMAC is the proof of a `role`, for this connection to that board alone.

    It is never 16 bytes long, as is what a board of the first release has signed.
    """
    return b"hingeline login " + role + b" " + host_nonce + board_nonce + uid.encode()
