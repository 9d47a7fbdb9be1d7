"""The login over TCP: board and computer prove to each other that they know the board's key, which is never sent."""

from __future__ import annotations

import hmac
import os
import secrets
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING, Any, NamedTuple

from hingeline.device.link import KEY_BYTES, KEY_VARIABLE
from hingeline.errors import BoardRefused, UsageProblem, WrongKey
from hingeline_protocol import messages
from hingeline_protocol.login import BOARD, HOST, NONCE_BYTES, signed_text

if TYPE_CHECKING:
    from hingeline.device.link.conversation import Conversation

LOGIN_S = 5.0  # each step of it
NEW_KEY = "Connect the board by its cable and give it a new key: `hingeline wifi NETWORK`"
UPDATE = "Connect the board by its cable and update it: `hingeline install`, then `hingeline wifi NETWORK`"


class Key(NamedTuple):
    """The key of a board."""

    text: str
    """In hexadecimal."""
    proven: bool = False
    """The board proves that it knows the key; one that does not only pretends to be this board."""


KeyOf = Callable[[str], Key | None]
"""Finds the key of a board by its uid; None where none is kept."""


def no_key(uid: str) -> Key | None:
    """Find no key: for boards that only the environment, or none, has a key of."""
    return None


def log_in(board: Conversation, key_of: KeyOf) -> None:
    """Prove that this computer knows the key, once the board has proved it. The key: the environment's, else `key_of`.

    A board of the first release proves nothing, and has the computer sign the board's nonce alone.

    Raises `WrongKey` (the board or this computer has another key, or none); `UsageProblem` (the environment's is none).
    """
    nonce = secrets.token_bytes(NONCE_BYTES)
    try:
        answer = board.ask(messages.Prove, nonce, wants=messages.Proof, patience_s=LOGIN_S)[0]
    except BoardRefused as refusal:
        if refusal.code != "verb":
            raise
        proof = _first_release_proof(board, key_of)
    else:
        key = _parse(_find(board, key_of, answer.uid).text)
        if not hmac.compare_digest(answer.proof, _proof(key, BOARD, nonce, answer)):
            raise WrongKey(f"{board.port} has another key than this computer, or none", NEW_KEY)
        proof = _proof(key, HOST, nonce, answer)
    try:
        board.ask(messages.Login, proof, patience_s=LOGIN_S)
    except BoardRefused as refusal:
        raise WrongKey(f"{board.port} has another key than this computer", NEW_KEY) from refusal


def proves_itself(board: Conversation) -> bool:
    """Ask a board on its cable, where it refuses all logins, whether it knows how to prove its key."""
    try:
        board.ask(messages.Prove, secrets.token_bytes(NONCE_BYTES))
    except BoardRefused as refusal:
        return refusal.code == "cable"
    return True


def _first_release_proof(board: Conversation, key_of: KeyOf) -> bytes:
    answer = board.ask(messages.Challenge, wants=messages.Nonce, patience_s=LOGIN_S)[0]
    key = _find(board, key_of, answer.uid)
    if key.proven:
        text = f"{board.port} does not prove that it is board {answer.uid}, which did so when it got its key"
        raise WrongKey(text, UPDATE)
    return hmac.digest(_parse(key.text), answer.nonce, "sha256")


def _find(board: Conversation, key_of: KeyOf, uid: str) -> Key:
    key = Key(os.environ[KEY_VARIABLE]) if KEY_VARIABLE in os.environ else key_of(uid)
    if key is None:
        missing = f"{board.port} asks for the key of board {uid}, which this computer doesn't have"
        raise WrongKey(missing, f"{NEW_KEY}; or set {KEY_VARIABLE} to the one it has")
    return key


def _proof(key: bytes, role: bytes, nonce: bytes, answer: Any) -> bytes:
    return hmac.digest(key, signed_text(role, nonce, answer.nonce, answer.uid), "sha256")


def _parse(text: str) -> bytes:
    with suppress(ValueError):
        if len(key := bytes.fromhex(text)) == KEY_BYTES:
            return key
    cure = f"Correct {KEY_VARIABLE}, or unset it to use the key that this computer keeps"
    raise UsageProblem(f"{KEY_VARIABLE} holds no key: expected {2 * KEY_BYTES} hexadecimal digits", cure)
