"""What version 1 recorded, in the words of version 2."""

import pytest

from hingeline.storage.old_words import renew


def throw(*judgements):
    return {"surface": "flap", "mode": "normal", "command": "down", "judgements": list(judgements)}


def side(what, wanted, deg, gap, verdict):
    return {"what": what, "wanted": wanted, "measured": {"deg": deg}, "gap": gap, "verdict": verdict}


def test_what_is_not_known_stays_as_it_is():
    assert renew("of next year", {"anything": [1, {"deep": "HOLD"}]}) == (
        "of next year",
        {"anything": [1, {"deep": "HOLD"}]},
    )
    assert renew("throw", {"judgements": 5, "findings": None}) == (
        "throw",
        {"judgements": 5, "results": None},
    )


@pytest.mark.parametrize(
    ("kind", "command", "old", "new"),
    [
        ("neutral", None, "ADD", "LOW"),
        ("throw", "neutral", "HOLD", "MATCHED"),
        ("throw", "down", "HOLD", "WITHIN"),
        ("throw", "up", "EASE", "LESS"),
        ("throw", "up", "no verdict", "NO VERDICT"),
    ],
)
def test_verdicts_depend_on_what_was_judged(kind, command, old, new):
    fields = {
        "command": command,
        "judgements": [{"what": "left", "verdict": old, "advice": "calibrate again"}],
    }
    _, renewed = renew(kind, fields)
    (judgement,) = renewed["judgements"]
    assert (judgement["name"], judgement["verdict"]) == ("left", new)
    assert ("reason" in judgement) == (new == "NO VERDICT")


def test_left_against_right_is_counted_along_a_throw_down():
    """Right goes 3.5° less far down than left: it is short of left, whatever an early session said."""
    left = side("left", -24.5, -26.4, -1.9, "EASE")
    for gap, verdict in ((-3.5, "EASE"), (3.5, "ADD")):
        _, fields = renew("throw", throw(left, side("left - right", 0.0, -3.5, gap, verdict)))
        apart = fields["judgements"][1]
        assert (apart["gap"], apart["verdict"]) == (3.5, "MORE")
    assert fields["judgements"][0]["verdict"] == "LESS"


def test_left_against_right_of_opposed_sides_is_counted_along_the_throw_down():
    """With the stick right the left aileron goes up, the right one down: 1° less far than the left one did before."""
    left, right = side("left", 14.0, 14.0, 0.0, "HOLD"), side("right", -9.0, -8.0, 1.0, "ADD")
    for gap, verdict in ((-1.0, "EASE"), (1.0, "ADD")):
        up = side("left - right up", 0.0, -1.0, -1.0, "EASE")
        down = side("left - right down", 0.0, -1.0, gap, verdict)
        _, fields = renew("throw", throw(left, right, up, down))
        _, _, up, down = fields["judgements"]
        assert (up["gap"], up["verdict"]) == (-1.0, "LESS")
        assert (down["gap"], down["verdict"]) == (1.0, "MORE")


def test_why_there_was_no_verdict_tells_whether_the_angle_was_wrong():
    for advice, is_wrong in (
        ("uncertain by noise 0.5°", False),
        ("the left sensor slipped: press it on", True),
    ):
        old = {**side("left", 14.0, 14.0, 0.0, "no verdict"), "advice": advice}
        _, fields = renew("throw", throw(old))
        assert fields["judgements"][0]["wrong"] is is_wrong
