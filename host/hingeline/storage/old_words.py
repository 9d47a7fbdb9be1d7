"""The words of sessions before version 2, and what they are now: the one place that knows the old ones."""

from __future__ import annotations

from typing import Any

KINDS = {"closure": "drift check", "session": "run"}
"""Of events."""
KEYS = {
    "what": "name",
    "wanted": "target",
    "findings": "results",
    "misclosure_deg": "drift_deg",
    "said": "call",
    "mountings": "hinges",
}
NO_VERDICT = "NO VERDICT"
IMPRECISE = "uncertain by"
"""So begins the reason for no verdict on an angle that is the surface's, not known well enough."""
VERDICTS = {
    "throw": {"ADD": "MORE", "HOLD": "WITHIN", "EASE": "LESS", "no verdict": NO_VERDICT},
    "neutral": {"ADD": "LOW", "HOLD": "MATCHED", "EASE": "HIGH", "no verdict": NO_VERDICT},
}
"""By what was judged."""
NAMES = {
    f"{side} stands at its end while {other} goes on": f"{side} stops before {other}"
    for side, other in (("left", "right"), ("right", "left"))
}
"""Of results."""
SIDES = ("left", "right", "middle")
CHECKS = ("sweep", "play", "centring", "droop")
OPPOSITE = {"ADD": "EASE", "EASE": "ADD"}
APART = "left - right"
APART_DOWN = f"{APART} down"
"""Of sides that a stick moves opposite ways: each at its throw down."""


def renew(kind: str, old: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """Say an event of version 1 in the words of version 2: its kind and its fields."""
    if kind == "loaded":  # what it holds has a version of its own
        return kind, {KEYS.get(key, key): value for key, value in old.items()}
    fields = _renew(old)
    neutral = "neutral" in (kind, fields.get("command"))
    judgements, results = _objects(fields.get("judgements")), _objects(fields.get("results"))
    if not neutral:
        _count_along_throw(judgements)
    words = VERDICTS["neutral" if neutral else "throw"]
    for judgement in judgements:
        judgement["verdict"] = words.get(str(judgement.get("verdict")), judgement.get("verdict"))
        if judgement["verdict"] == NO_VERDICT:
            judgement["reason"] = judgement.pop("advice", "")
            judgement["wrong"] = not str(judgement["reason"]).startswith(IMPRECISE)
    if any(judgement.get("wrong") for judgement in judgements):  # so is left against right, whatever its reason was
        for judgement in judgements:
            if str(judgement.get("name")).startswith(APART) and judgement["verdict"] == NO_VERDICT:
                judgement["wrong"] = True
    for result in results:
        result["name"] = NAMES.get(str(result.get("name")), result.get("name"))
    if kind in CHECKS:
        rests = {side: _rests(fields.pop(side)) for side in SIDES if isinstance(fields.get(side), dict)}
        fields |= {"check": kind, "inside": all(result.get("inside") for result in results), "rests_deg": rests}
    return KINDS.get(kind, kind), fields


def _renew(value: Any) -> Any:
    if isinstance(value, dict):
        return {KEYS.get(key, key): _renew(inner) for key, inner in value.items()}
    return [_renew(inner) for inner in value] if isinstance(value, list) else value


def _objects(value: Any) -> list[dict[str, Any]]:
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []


def _count_along_throw(judgements: list[dict[str, Any]]) -> None:
    """Count left against right along the throw, as each side: early sessions counted it trailing edge up."""
    downward = any(each.get("name") in SIDES and _below(each.get("target")) for each in judgements)
    for judgement in judgements:
        measured, gap = judgement.get("measured"), judgement.get("gap")
        apart_deg = measured.get("deg") if isinstance(measured, dict) else None
        down = downward if judgement.get("name") == APART else judgement.get("name") == APART_DOWN
        if down and _below(apart_deg) == _below(gap):
            judgement["gap"] = -gap if isinstance(gap, int | float) else gap
            judgement["verdict"] = OPPOSITE.get(str(judgement.get("verdict")), judgement.get("verdict"))


def _below(value: object) -> bool:
    return isinstance(value, int | float) and value < 0


def _rests(old: dict[str, Any]) -> dict[str, Any]:
    """Where a side came to rest, by what was done before: `play` and `centring` had a form each."""
    pushed = old.get("readings_deg")
    if isinstance(pushed, dict):
        return pushed
    return {f"from {way}": old[key] for way in ("above", "below") if (key := f"from_{way}_deg") in old}
