"""A model that is moved between neutral and throw: told, and taken out by a sensor on its fixed part."""

import json
import shutil
from dataclasses import replace

import numpy as np
from tests.host.cli.sceptic import FIXED_BOARD, SHEET, readings, show, write_scenario
from tests.host.person import Person

from hingeline.checks.results import NeutralResult, ThrowResult
from hingeline.procedures import throws
from hingeline.procedures.neutral import neutral_text
from hingeline.procedures.words import brief_text
from hingeline.rig.kinds import BOTH
from hingeline.storage.results import read_results
from hingeline.storage.sides import load_sides
from hingeline.storage.store import Store
from hingeline_calibration.calibration import Calibration
from hingeline_virtual.client import VirtualBench


def nudged(expert: Person):
    """Return deeds that move the model between neutral and throw."""

    def up() -> None:
        expert.bench.do("attitude", pitch_deg=-1.5, roll_deg=1)
        expert.bench.do("stick", position="swept up")

    return (("up .normal., all", up), ("sticks centred, hands off.$", expert.stick("neutral")))


def test_a_model_that_moved_is_told(expert):
    """What was read before has no verdict any more; it is asked for again, and then it is right."""
    expert.tape("swept")
    still = (("up .normal., all", expert.stick("swept up")), ("sticks centred, hands off.$", expert.stick("neutral")))
    outcome = expert.run("throws", SHEET, "swept", "--json", asked=(*nudged(expert), *still))
    assert outcome.status == 0, outcome.stdout
    assert "the model was moved" in outcome.stderr
    assert "NO VERDICT any more, as it came back off neutral: up (normal)." in outcome.stderr
    for side in BOTH:
        angle = readings(outcome, "swept", "up")[side]["measured"]
        show(f"the model was moved by 1.8° before, {side}", 25, angle["deg"], 0.25)
    results = [each for each in read_results(outcome.session).results if isinstance(each, ThrowResult)]
    first, void, back, *_ = results
    assert (first.place, void.place, back.command) == (void.place, void.place, "neutral")
    assert {each.verdict for each in void.judgements} == {"NO VERDICT"}
    assert abs(back.moved_deg) > 0.5


def test_it_is_told_where_there_is_little_room_too():
    """On the large screen and the page."""
    throw = ThrowResult("swept", "normal", "neutral", (), moved_deg=1.8)
    for text in (
        throws._text("swept, neutral", throw, brief_text),
        neutral_text(NeutralResult("swept", (), moved_deg=1.8), brief_text),
    ):
        assert "the model was moved" in text


def test_a_fixed_sensor_takes_the_motion_out(calibrated_home, tmp_path):
    home = shutil.copytree(calibrated_home, tmp_path / "home")
    with VirtualBench(write_scenario(tmp_path / "fixed.toml", boards=[FIXED_BOARD])) as bench:
        expert = Person(bench, home)
        boards = expert.run("boards", "--json").data["boards"]
        (fixed,) = [one["sensor_id"] for board in boards for one in board["sensors"] if not one["calibrated"]]
        store = Store(home)
        some = Calibration.from_dict(store.load("calibration", load_sides(store)["left"]))
        perfect = replace(
            some,
            sensor_id=fixed,
            matrix_counts_per_g=np.eye(3) * some.counts_per_g,
            bias_counts=np.zeros(3),
        )
        store.save("calibration", fixed, perfect.to_dict())
        expert.tape("swept")
        bench.do("tape", sensor="fixed", surface="wing")
        outcome = expert.run("throws", SHEET, "swept", "--fixed", fixed, "--json", asked=nudged(expert))
    assert outcome.status == 0, outcome.stdout
    for side in BOTH:
        judgement = readings(outcome, "swept", "up")[side]
        show(f"model moved by 1.8°, {side}", 25, judgement["measured"]["deg"], 0.25)
        low, high = judgement["measured"]["interval_95_deg"]
        assert high - low < 0.6, "what may still creep is in it, of both readings"
    assert json.dumps(outcome.data["surfaces"]["swept"][-1]["moved_deg"]) == "null"
