"""The keys of boards on the network, which a board asks for before it lets a computer in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from hingeline.device.link.fleet import Fleet
from hingeline.device.link.login import Key
from hingeline.storage.store import Store


def save_key(store: Store, uid: str, key: bytes, proven: bool = False, ports: Sequence[str] = ()) -> Path:
    """Save the key of a board, readable for its owner alone, and its ports on the network; return where.

    `proven`: as `Key`. Raises `StoreError`.
    """
    content = {"key": key.hex(), "proven": proven, "ports": list(ports)}
    return store.save("settings", _name(uid), content, mode=0o600).path


def network_ports(store: Store) -> dict[str, tuple[str, ...]]:
    """Find, by uid, where each board that has a key may be on the network. Raises `DamagedFile`, `NewerFile`."""
    names = [name for name in store.keys("settings") if name.startswith(_name(""))]
    kept = {name.removeprefix(_name("")): store.find("settings", name) or {} for name in names}
    return {uid: tuple(map(str, content.get("ports", ()))) for uid, content in kept.items()}


def load_key(store: Store, uid: str) -> Key | None:
    """Read the key of a board; None where none is kept. Raises `DamagedFile`, `NewerFile`."""
    kept = store.find("settings", _name(uid))
    return None if kept is None else Key(str(kept["key"]), kept.get("proven") is True)


def open_fleet(store: Store, ports: Sequence[str], say: Callable[[str], None]) -> Fleet:
    """Open the boards at these ports with the keys that are kept. `say` and what is raised: as `Fleet`."""
    return Fleet(ports, partial(load_key, store), say)


def _name(uid: str) -> str:
    return f"key-{uid}"
