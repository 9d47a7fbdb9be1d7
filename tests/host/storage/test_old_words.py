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


def test_left_against_right_is_as_wrong_as_either_side():
    """The left sensor slipped: what is said of both rests on it, whatever the reason was then."""
    slipped = {**side("left", 14.0, 19.0, 0.0, "no verdict"), "advice": "the left sensor slipped"}
    badly = {**side("right", 14.0, 14.0, 0.0, "no verdict"), "advice": "uncertain by noise 0.5°"}
    apart = {**side("left - right", 0.0, 5.0, 0.0, "no verdict"), "advice": "uncertain by noise 0.5°"}
    _, fields = renew("throw", throw(slipped, badly, apart))
    assert [judgement["wrong"] for judgement in fields["judgements"]] == [True, False, True]
    _, fields = renew("throw", throw(slipped, side("left - right", 0.0, 5.0, 5.0, "ADD")))
    assert fields["judgements"][1].get("wrong") is None, "it had its verdict"
    _, fields = renew("throw", throw(badly, apart))
    assert [judgement["wrong"] for judgement in fields["judgements"]] == [False, False]


@pytest.mark.parametrize(("apart_deg", "gap"), [(0.5, -0.5), (-0.5, 0.5)])
def test_what_was_counted_along_the_throw_already_is_left(apart_deg, gap):
    left = side("left", -24.5, -24.0, -0.5, "ADD")
    _, fields = renew("throw", throw(left, side("left - right", 0.0, apart_deg, gap, "ADD")))
    assert (fields["judgements"][1]["gap"], fields["judgements"][1]["verdict"]) == (gap, "MORE")


def test_a_small_throw_up_is_no_throw_down():
    """Camber of 0.8°: left against right is counted trailing edge up, as it was."""
    left = side("left", 0.8, 0.8, 0.0, "HOLD")
    _, fields = renew("throw", throw(left, side("left - right", 0.0, -0.5, -0.5, "ADD")))
    assert (fields["judgements"][1]["gap"], fields["judgements"][1]["verdict"]) == (-0.5, "MORE")


@pytest.mark.parametrize(("inside", "holds"), [((True, True), True), ((True, False), False)])
def test_a_look_for_play_and_centring_has_its_rests_and_holds_if_all_of_it_did(inside, holds):
    findings = [
        {"what": "left stands at its end while right goes on", "value": 1.0, "inside": is_inside}
        for is_inside in inside
    ]
    rests = {"left": {"readings_deg": {"pushed up": [0.5]}}, "right": {"from_above_deg": [0.1]}, "middle": None}
    kind, fields = renew("play", {"surface": "flap", "findings": findings, **rests})
    assert (kind, fields["check"], fields["inside"]) == ("play", "play", holds)
    assert fields["rests_deg"] == {"left": {"pushed up": [0.5]}, "right": {"from above": [0.1]}}
    assert fields["results"][0]["name"] == "left stops before right"


def test_what_is_loaded_keeps_its_own_words():
    """A calibration has a version of its own, and may use a word that events have changed."""
    payload = {"what": "is kept", "findings": []}
    assert renew("loaded", {"what": "calibration", "key": "a", "payload": payload}) == (
        "loaded",
        {"name": "calibration", "key": "a", "payload": payload},
    )
