"""One stroke before a neutral, end points turned while they are held, a sensor that slips: truth beside reading."""

import re

import pytest
from tests.host.cli.sceptic import SHEET, show
from tests.host.cli.terminal import Terminal

from hingeline.rig.kinds import BOTH

pytestmark = pytest.mark.long


def test_a_raised_hinge_taped_askew_is_matched_after_one_stroke(expert):
    """45° of dihedral, the right carrier 8° askew on its skin: without the stroke, off by 8° · tan 45° = 8°."""
    expert.bench.do("tape", sensor="left", surface="raised left")
    expert.bench.do("tape", sensor="right", surface="raised right", yaw_deg=8)
    sides = [f"raised {side}" for side in BOTH]
    terminal = Terminal(expert, "neutral", SHEET, "raised", "--json", "--plain", "--quiet")
    terminal.until("One slow stroke first")
    terminal.until(r"sweep\s+it\s+slowly")
    for awaited in (r"not\s+yet\s+known|off\s+the\s+hinge\s+line", r"off\s+the\s+hinge\s+line"):
        for deflection_deg in (-30, 30, -30, 0):
            expert.bench.do("deflect", surface=sides, deflection_deg=deflection_deg, over_s=3)
        terminal.until(awaited)
        if re.search(r"off\s+the\s+hinge\s+line", terminal.told):
            break
    terminal.until("2 taken.*3 taken|within the tolerance|left - right")
    terminal.press("n")
    outcome = terminal.end()
    (match,) = outcome.data["judgements"]
    low, high = match["measured"]["interval_95_deg"]
    show("dihedral 45°, tape 8° askew: left - right", 0, match["measured"]["deg"], 0.5)
    assert low <= 0 <= high
    assert high - low < 1.5, "and not the ±2.9 of a sensor that was never swept"


def test_an_end_point_is_turned_while_it_is_held(person, sheet):
    """The flap's end points are wrong by 0.9° and more; each is put right while it is held, without a rerun."""
    person.tape("flap")
    wanted = {"flap up": 5.0, "flap down": -24.54}  # 20.4 mm at 48 mm

    def adjust(position):
        def put_right():
            for side in BOTH:
                person.bench.do("adjust", surface=f"flap {side}", positions={position: wanted[position]})

        return put_right

    up, down, neutral = person.throws("flap")
    outcome = person.run(
        "throws",
        sheet,
        "flap",
        "--json",
        asked=(
            up,
            (r"correct up \(normal\) while you hold it", adjust("flap up")),
            (r"^flap: down \(normal\), all the way", down[1]),
            (r"correct down \(normal\) while you hold it", adjust("flap down")),
            (r"^flap: neutral \(normal\)", neutral[1]),
        ),
    )
    assert outcome.status == 0, outcome.stderr
    read = {throw["command"]: throw["judgements"] for throw in outcome.data["surfaces"]["flap"]}
    for command, truth in (("up", 5.0), ("down", -24.54)):
        for judgement in read[command][:2]:
            show(f"{command}, {judgement['name']}", truth, judgement["measured"]["deg"], 0.2)


def test_a_sensor_that_slips_between_two_throws(person, sheet):
    """By 1.5° about the hinge: a throw loses its verdict and is read anew, from the neutral as it is then.

    That down is too far is known all the same.
    """
    person.tape("flap")

    def slip():
        person.bench.do("knock", sensor="right", slip_deg=[1.5, 0, 0])
        person.bench.do("stick", position="flap down")

    up, down, neutral = person.throws("flap")
    outcome = person.run("throws", sheet, "flap", "--json", asked=(up, (down[0], slip), neutral, up, neutral))
    assert "NO VERDICT any more, as it came back off neutral: up (normal)." in outcome.stderr
    read = {throw["command"]: throw["judgements"] for throw in outcome.data["surfaces"]["flap"]}
    for command, truths in (("up", (5.9, 4.2)),):
        for judgement, truth in zip(read[command], truths, strict=False):
            show(f"{command} after a slip, {judgement['name']}", truth, judgement["measured"]["deg"], 0.2)
            low, high = judgement["measured"]["interval_95_deg"]
            assert high - low < 0.5, "anew, and not widened"
