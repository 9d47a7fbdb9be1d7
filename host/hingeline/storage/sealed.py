"""The one readable form of data in the store, on a board and in a file that a user carries: JSON with a checksum.

::

    {"format": 1, "kind": "calibration", "key": "<sensor id>", ..., "payload": {...}, "sha256": "..."}
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

from hingeline.errors import DamagedFile
from hingeline.files.whole import newer

FORMAT = 1
MOST_BYTES = 1_000_000
"""A calibration has some ten thousand: a longer file is not read."""
HOW_TO_GET = {
    "calibration": "Calibrate it: `hingeline calibrate`",
    "datum": "Lay the sensors on a flat: `hingeline datum`",
}


def seal(kind: str, key: str, payload: dict[str, Any], *, indent: int | None = None, **more: Any) -> bytes:
    """Seal `payload`, the same for the same arguments; compact without an `indent`."""
    content = {"format": FORMAT, "kind": kind, "key": key, **more, "payload": payload}
    content = json.loads(json.dumps(content, allow_nan=False))  # as it will be read
    sealed = {**content, "sha256": _digest(content)}
    separators = (",", ":") if indent is None else None
    return (json.dumps(sealed, indent=indent, separators=separators, allow_nan=False) + "\n").encode()


def unseal(
    data: bytes, place: Path | str, kind: str, key: str | None = None, cure: str | None = None
) -> dict[str, Any]:
    """Open a sealed form, of any key where none is given; `cure` is for one that can't be used.

    Raises `DamagedFile` (it was edited or is torn, or is of another kind or key); `NewerFile` (a later hingeline wrote
    it).
    """
    misplaced = cure or "Move it back to where it belongs"
    cure = cure or f"{HOW_TO_GET.get(kind, 'Save it anew')}, or take the file away and the {kind} before it is used"
    try:
        if len(data) > MOST_BYTES:
            raise ValueError(len(data))
        content = json.loads(data)
        form, its_kind, its_key = (content[name] for name in ("format", "kind", "key"))
        digest = content.pop("sha256", None)
        sound = digest == _digest(content) and isinstance(content["payload"], dict)
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as error:
        raise DamagedFile(f"{place} is torn: it is no file of hingeline", cure) from error
    if isinstance(form, int) and form > FORMAT:
        raise newer(place, form, FORMAT)
    if not sound:
        raise DamagedFile(f"{place} was edited since hingeline wrote it: its checksum differs", cure)
    if its_kind != kind or key not in (None, its_key):
        raise DamagedFile(
            f"{place} holds the {its_kind} of {its_key}, not the {kind} of {key or 'a sensor'}", misplaced
        )
    payload: dict[str, Any] = content["payload"]
    if kind == "calibration" and payload.get("sensor_id", its_key) != its_key:
        sensors = f"sensor {its_key} outside, {payload['sensor_id']} inside"
        raise DamagedFile(f"{place} names two sensors, expected one: {sensors}", cure)
    return payload


def _digest(content: dict[str, Any]) -> str:
    """SHA-256 of the one spelling of `content`: keys sorted, no blanks."""
    canonical = json.dumps(content, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(canonical.encode()).hexdigest()
