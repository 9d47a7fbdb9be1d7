"""The keys of boards on the network, which a board asks for before it lets a computer in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from hingeline.device.link.fleet import Fleet
from hingeline.storage.store import Store


def save_key(store: Store, uid: str, key: bytes) -> Path:
    """Save the key of a board, readable for its owner alone; return where. Raises `StoreError`."""
    return store.save("settings", _name(uid), {"key": key.hex()}, mode=0o600).path


def load_key(store: Store, uid: str) -> str | None:
    """Read the key of a board, in hexadecimal; None where none is kept. Raises `DamagedFile`, `NewerFile`."""
    kept = store.find("settings", _name(uid))
    return None if kept is None else str(kept["key"])


def open_fleet(store: Store, ports: Sequence[str], say: Callable[[str], None]) -> Fleet:
    """Open the boards at these ports with the keys that are kept. `say` and what is raised: as `Fleet`."""
    return Fleet(ports, partial(load_key, store), say)


def _name(uid: str) -> str:
    return f"key-{uid}"
