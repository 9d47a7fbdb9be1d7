"""Proof that a host knows the board's key, without sending it: HMAC-SHA256 of a number used once."""

import os
from hashlib import sha256

_BLOCK_BYTES = 64
_NONCE_BYTES = 16


def hmac_sha256(key, message):
    """Compute the 32 bytes of HMAC-SHA256 for a key of at most 64 bytes: RFC 2104, section 2."""
    padded = key + bytes(_BLOCK_BYTES - len(key))
    inner = sha256(bytes([byte ^ 0x36 for byte in padded]) + message).digest()
    return sha256(bytes([byte ^ 0x5C for byte in padded]) + inner).digest()


class Login:
    """The login of one host. Each challenge can be answered once.

    Attributes
    ----------
    passed, failed
        Whether the host has proved that it knows the key, or failed to.
    """

    def __init__(self, key):
        self._key = key
        self._nonce = None
        self.passed = False
        self.failed = False

    def challenge(self):
        """Make a new nonce; a former one is void."""
        self._nonce = os.urandom(_NONCE_BYTES)
        return self._nonce

    def prove(self, proof):
        """Check the host's proof for the last nonce, which is used up by it."""
        nonce, self._nonce = self._nonce, None
        self.passed = nonce is not None and proof == hmac_sha256(self._key, nonce)
        self.failed = not self.passed
