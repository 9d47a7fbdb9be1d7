"""The way past a board's gate: proof that this computer knows the board's key, which never goes over the network."""

from __future__ import annotations

import hmac
import os
from collections.abc import Callable
from typing import Any

from hingeline.device.link import KEY_BYTES, KEY_VARIABLE
from hingeline.device.link.conversation import Conversation
from hingeline.errors import BoardRefused, UsageProblem, WrongKey
from hingeline_protocol.messages import Challenge, Login, Nonce

PATIENCE_S = 5.0
"""With each step of a login."""
_NEW_KEY = "Connect the board by its cable and give it a new key: `hingeline wifi NETWORK`"
KeyOf = Callable[[str], str | None]
"""Finds the key of a board by its uid, in hexadecimal."""


def no_key(uid: str) -> str | None:
    """Find no key: for boards that only the environment, or none, has a key of."""
    return None


def log_in(talk: Conversation, key_of: KeyOf) -> None:
    """Prove to the board that this computer knows its key: the one the environment names, else `key_of` it.

    Raises `WrongKey` (it does not, or the board has another); `UsageProblem` (what the environment names is no key);
    `HingelineError` (what `key_of` raises).
    """
    challenge: Any = talk.ask(Challenge, wants=Nonce, patience_s=PATIENCE_S)[0]
    text = os.environ.get(KEY_VARIABLE)
    key = _parse(key_of(challenge.uid) if text is None else text)
    if key is None:
        text = f"{talk.port} asks for the key of board {challenge.uid}, which this computer doesn't have"
        raise WrongKey(text, f"{_NEW_KEY}; or set {KEY_VARIABLE} to the one it has")
    try:
        talk.ask(Login, hmac.digest(key, challenge.nonce, "sha256"), patience_s=PATIENCE_S)
    except BoardRefused as refusal:
        raise WrongKey(f"{talk.port} has another key than this computer", _NEW_KEY) from refusal


def _parse(text: str | None) -> bytes | None:
    if text is None:
        return None
    try:
        key = bytes.fromhex(text)
    except ValueError:
        key = b""
    if len(key) != KEY_BYTES:
        cure = f"Correct {KEY_VARIABLE}, or unset it to use the key that this computer keeps"
        raise UsageProblem(f"{KEY_VARIABLE} holds no key: expected {2 * KEY_BYTES} hexadecimal digits", cure)
    return key
