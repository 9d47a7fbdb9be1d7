"""Sealed forms, some sealed by hand: by the SHA-256 of their JSON with sorted keys and no blanks."""

import hashlib
import json

import pytest

from hingeline.errors import DamagedFile
from hingeline.storage.sealed import seal, unseal

PLACE = "notes.json"


def by_hand(**changes):
    content = {"format": 1, "kind": "datum", "key": "bench", "payload": {"n": 1}, **changes}
    canonical = json.dumps(content, sort_keys=True, separators=(",", ":"))
    return json.dumps({**content, "sha256": hashlib.sha256(canonical.encode()).hexdigest()}).encode()


def test_a_form_is_sealed_as_anybody_would_by_its_description():
    assert json.loads(seal("datum", "bench", {"n": 1})) == json.loads(by_hand())
    assert unseal(by_hand(), PLACE, "datum", "bench") == {"n": 1}


def test_without_an_indent_nothing_is_wasted():
    """A board has 8 KB for a calibration (PROTOCOL.md)."""
    assert b" " not in seal("datum", "bench", {"numbers": [1, 2]})
    assert b'\n  "numbers"' in seal("datum", "bench", {"numbers": [1, 2]}, indent=1)


def test_what_json_has_not_is_not_sealed():
    """RFC 8259, 6: numbers that can't be written as digits, such as Infinity and NaN, are not permitted."""
    with pytest.raises(ValueError, match="JSON"):
        seal("datum", "bench", {"n": float("nan")})


@pytest.mark.parametrize(
    ("changes", "why", "cure"),
    [
        ({"payload": [1]}, "was edited", "hingeline datum"),
        ({"format": "2"}, "holds", ""),
        ({"kind": "settings"}, "holds the settings of bench, not the datum of bench", "Move it back"),
        ({"key": "attic"}, "holds the datum of attic, not the datum of bench", "Move it back"),
    ],
)
def test_a_sound_seal_of_something_else_is_refused(changes, why, cure):
    if changes == {"format": "2"}:  # no number: of no later version, and sound
        assert unseal(by_hand(**changes), PLACE, "datum", "bench") == {"n": 1}
        return
    with pytest.raises(DamagedFile, match=f"{PLACE} {why}") as problem:
        unseal(by_hand(**changes), PLACE, "datum", "bench")
    assert cure in problem.value.cure


@pytest.mark.parametrize("name", ["format", "kind", "key", "payload"])
def test_a_sound_seal_of_a_form_with_a_part_missing_is_refused(name):
    content = json.loads(by_hand())
    del content[name], content["sha256"]
    canonical = json.dumps(content, sort_keys=True, separators=(",", ":"))
    sealed = json.dumps({**content, "sha256": hashlib.sha256(canonical.encode()).hexdigest()}).encode()
    with pytest.raises(DamagedFile, match="is no file of hingeline"):
        unseal(sealed, PLACE, "datum")


def test_a_cure_that_is_given_takes_the_place_of_the_usual_one():
    for content in (by_hand(key="attic"), b"torn"):
        with pytest.raises(DamagedFile) as problem:
            unseal(content, PLACE, "datum", "bench", "Ask for it again")
        assert problem.value.cure == "Ask for it again"


@pytest.mark.parametrize(("kind", "is_refused"), [("calibration", True), ("hinge", False)])
def test_a_calibration_alone_names_its_sensor_twice_alike(kind, is_refused):
    """A hinge is kept under its place on the aircraft."""
    content = by_hand(kind=kind, key="a", payload={"sensor_id": "b"})
    if not is_refused:
        assert unseal(content, PLACE, kind, "a") == {"sensor_id": "b"}
        return
    with pytest.raises(DamagedFile, match="names two sensors, expected one: sensor a outside, b inside"):
        unseal(content, PLACE, kind, "a")
    assert unseal(by_hand(kind=kind, key="b", payload={"sensor_id": "b"}), PLACE, kind) == {"sensor_id": "b"}
