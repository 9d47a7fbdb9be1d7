"""Proof of board and host to each other that they know the board's key, without sending it: HMAC-SHA256."""

import os
from hashlib import sha256

from hingeline_protocol.login import BOARD, HOST, NONCE_BYTES, signed_text

_BLOCK_BYTES = 64


def hmac_sha256(key, message):
    """Compute the 32 bytes of HMAC-SHA256 for a key of at most 64 bytes: RFC 2104, section 2."""
    padded = key + bytes(_BLOCK_BYTES - len(key))
    inner = sha256(bytes([byte ^ 0x36 for byte in padded]) + message).digest()
    return sha256(bytes([byte ^ 0x5C for byte in padded]) + inner).digest()


class Login:
    """The login of one host. Each nonce can be answered once.

    Attributes
    ----------
    passed, failed
        Whether the host has proved that it knows the key, or failed to.
    """

    def __init__(self, key, uid):
        self._key = key
        self._uid = uid
        self._expected = None
        self.passed = False
        self.failed = False

    def answer(self, host_nonce):
        """Make a new nonce, and the board's proof for both; a former nonce is void."""
        nonce = os.urandom(NONCE_BYTES)
        self._expected = self._proof(HOST, host_nonce, nonce)
        return nonce, self._proof(BOARD, host_nonce, nonce)

    def check(self, proof):
        """Check the host's proof for the last nonces, which are used up by it."""
        expected, self._expected = self._expected, None
        self.passed = expected is not None and proof == expected
        self.failed = not self.passed

    def _proof(self, role, host_nonce, nonce):
        return hmac_sha256(self._key, signed_text(role, host_nonce, nonce, self._uid))
