"""Files and values as others may hand them over: spoilt somewhere, or anything at all."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st

FEW = settings(max_examples=max(1, settings.default.max_examples // 8))
"""For what takes long an example."""


@contextmanager
def refused_as(*kinds: type[Exception]) -> Iterator[None]:
    """Let what is documented pass, if it tells itself in printable characters; nothing else."""
    told = ""
    try:
        yield
    except kinds as error:
        told = str(error)
    assert not told or told.replace("\n", "").isprintable()


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from([10**400, -1, 0, "", [], {}]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=5,
)


@st.composite
def spoilt_bytes(draw: st.DrawFn, sound: bytes) -> bytes:
    """`sound` with one to three places changed: bytes replaced, put in, taken out, or a part from elsewhere."""
    content = sound
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(content)))
        to = draw(st.integers(at, min(len(content), at + 12)))
        begin = draw(st.integers(0, len(content)))
        part = draw(st.binary(max_size=6) | st.just(content[begin : begin + 40]))
        content = content[:at] + part + content[to:]
    return content


@st.composite
def spoilt_json(draw: st.DrawFn, sound: Any) -> Any:
    """A copy of plain values with one to three of them replaced, taken out or put in, wherever they are."""
    value = json.loads(json.dumps(sound))
    for _ in range(draw(st.integers(1, 3))):
        value = _spoilt(draw, value)
    return value


def _spoilt(draw: st.DrawFn, value: Any) -> Any:
    inside = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    if not inside or draw(st.integers(0, 9)) == 0:
        return draw(JSON)
    key = draw(st.sampled_from(list(inside)))
    act = draw(st.sampled_from(["deeper", "deeper", "deeper", "out", "in"]))
    if act == "out":
        del value[key]
    elif act == "in" and isinstance(value, dict):
        value[draw(st.text(max_size=6))] = draw(JSON)
    elif act == "in":
        value.insert(key, draw(JSON))
    else:
        value[key] = _spoilt(draw, value[key])
    return value
