"""The way past a board's gate: proof that this computer knows the board's key, which never goes over the network."""

from __future__ import annotations

import hmac
import os
from pathlib import Path
from typing import Any

from hingeline.device.link.conversation import Conversation
from hingeline.errors import BoardRefused, NotStored, UsageProblem, WrongKey
from hingeline.storage.store import Store
from hingeline_protocol.messages import Challenge, Login, Nonce

KEY_VARIABLE = "HINGELINE_KEY"
"""Environment variable with the key in hexadecimal: it goes before the one that is kept."""
KEY_BYTES = 16
PATIENCE_S = (5.0,)
"""With each step of a login, which is tried once: a challenge holds for one answer."""
_NEW_KEY = "Connect the board by its cable and give it a new key: `hingeline wifi NETWORK`"


def keep_key(uid: str, key: bytes) -> Path:
    """Keep the key of a board in the store, readable for its owner alone; return where. Raises `StoreError`."""
    return Store().save("settings", _setting(uid), {"key": key.hex()}, mode=0o600).path


def known_key(uid: str) -> bytes | None:
    """Return the key that the environment names, else the one kept for a board, else None.

    Raises
    ------
    UsageProblem
        What the environment names is no key.
    DamagedFile, NewerFile
        The kept one can't be read.
    """
    named = os.environ.get(KEY_VARIABLE)
    try:
        key = bytes.fromhex(Store().load("settings", _setting(uid))["key"] if named is None else named)
    except NotStored:
        return None
    except ValueError:
        key = b""
    if len(key) != KEY_BYTES:
        raise UsageProblem(
            f"The key in {KEY_VARIABLE} is none: expected {2 * KEY_BYTES} hexadecimal digits",
            f"Correct {KEY_VARIABLE}, or unset it to take the key that is kept",
        )
    return key


def log_in(port: str, talk: Conversation) -> None:
    """Prove to the board at `port` that its key is known here.

    Raises
    ------
    WrongKey
        It is not, or the board has another.
    """
    challenge: Any = talk.ask(Challenge, wants=Nonce, patience_s=PATIENCE_S)[0]
    key = known_key(challenge.uid)
    if key is None:
        raise WrongKey(
            f"{port} asks for the key of board {challenge.uid}, which this computer doesn't have",
            f"{_NEW_KEY}; or set {KEY_VARIABLE} to the one it has",
        )
    try:
        talk.ask(Login, hmac.digest(key, challenge.nonce, "sha256"), patience_s=PATIENCE_S)
    except BoardRefused as refusal:
        raise WrongKey(f"{port} has another key than this computer", _NEW_KEY) from refusal


def _setting(uid: str) -> str:
    return f"key-{uid}"
