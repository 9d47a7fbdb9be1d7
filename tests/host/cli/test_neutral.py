"""Neutrals beyond the match: the faired position, what a mismatch does, and advice that is followed to the end."""

import re
import shutil
from pathlib import Path

import numpy as np
import pytest
from tests.host.cli.sceptic import SHEET, show, write_scenario
from tests.host.person import Person
from tests.host.procedures.listed import Listed, runner_of

from hingeline.checks.neutral import NeutralCheck
from hingeline.cli.commands.neutral import _given
from hingeline.cli.options import LiveOptions, Target
from hingeline.device.link.fleet import Fleet
from hingeline.device.samples import Sample
from hingeline.errors import NotMeasurable
from hingeline.measure.capture import Capture
from hingeline.procedures.neutral import match_neutral
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH
from hingeline.storage.calibrations import load_datum, load_instruments
from hingeline.storage.sides import load_sides
from hingeline.storage.store import Store, now_text
from hingeline_calibration.travel import deflection_from_travel_deg
from hingeline_virtual.client import VirtualBench

LINE_S = 0.05


@pytest.fixture
def builder(calibrated_home, tmp_path):
    """A builder before the sceptic's bench, with calibrated sensors."""
    with VirtualBench(write_scenario(tmp_path / "sceptic.toml")) as bench:
        yield Person(bench, shutil.copytree(calibrated_home, tmp_path / "home"))


def test_neutral_counts_from_the_faired_position(builder):
    """2 mm up at 60 mm from faired is 1.91°; the left side stands there, the right one at 3°."""
    builder.tape("faired")
    builder.bench.do("stick", position="faired")
    wanted_deg = deflection_from_travel_deg(2, 60, "ruler")
    builder.bench.do("adjust", surface="faired left", neutral_by_deg=wanted_deg - 3, positions={"faired": -wanted_deg})
    outcome = builder.run(
        "neutral",
        SHEET,
        "faired",
        "--json",
        asked=(
            ("hold it faired", lambda: None),
            ("sticks centred, hands off, both", builder.stick("neutral")),
        ),
    )
    found = {one["name"]: one for one in outcome.data["judgements"]}
    assert outcome.status == 6
    assert (found["left"]["unit"], found["left"]["verdict"]) == ("mm", "MATCHED")
    assert found["right"]["verdict"] == "HIGH"
    show("faired, left, mm", 2, found["left"]["travel"]["mm"], 0.3)
    show("faired, right, deg", 3, found["right"]["measured"]["deg"], 0.2)
    show("faired, left - right", wanted_deg - 3, found["left - right"]["measured"]["deg"], 0.2)
    # an elevon balances its own mismatch: half of it on each side (effect.balancing_aileron_deg)
    told = re.search(r"right aileron \w+ ([\d.]+)°", found["left - right"]["effect"])
    show("balanced by", (3 - wanted_deg) / 2, float(told[1]), 0.1)
    assert "thin-aerofoil" in found["left - right"]["effect"]


@pytest.mark.parametrize(
    ("surface", "mismatch_deg", "steps"),
    [("clevis", 2.7, ("clevis", "sub-trim")), ("trimmed", 2.0, ("sub-trim", "sub-trim"))],
)
def test_advice_that_is_followed_brings_the_match_to_hold(builder, surface, mismatch_deg, steps):
    """Clevis first, a probe, then sub-trim by the gain that the probe shows; 1 % moves 0.31° here, reversed."""
    gain_deg_per_percent = -0.31
    builder.tape(surface)
    builder.bench.do("adjust", surface=f"{surface} right", neutral_by_deg=mismatch_deg)
    store, sheet, told = Store(builder.home), load_sheet(Path(SHEET)), []
    with Fleet(tuple(builder.bench.ports.values())) as fleet:
        fleet.start()
        sides = load_instruments(store, load_sides(store), fleet.sensors)
        check = NeutralCheck(sheet, surface, sides, load_datum(store))
        capture, set_percent = Capture({one.sensor_id: fleet.sensors[one.sensor_id] for one in sides}), 0.0
        for _ in range(5):
            capture.expect()
            check, reading = check.read(next(filter(None, map(capture.push, fleet))))
            if reading.inside:
                break
            judgement = reading.judgements[0]
            told.append(judgement.advice)
            by_deg = judgement.moves_deg
            if judgement.setting_percent is not None:
                by_deg = (judgement.setting_percent - set_percent) * gain_deg_per_percent
                set_percent = judgement.setting_percent
            builder.bench.do("adjust", surface=f"{surface} right", neutral_by_deg=by_deg)
    print("\n".join(told))
    assert reading.inside
    assert len(told) <= 3
    for text, word in zip(told, steps, strict=False):
        assert word in text
    states = {one["surface"]: one["angle_deg"] for one in builder.bench.do("truth")["surfaces"]}
    left, right = (states[f"{surface} {side}"] for side in BOTH)
    show(f"{surface}: left - right after it", 0, left - right, 0.5)


def at_the_clevis(calibrations):
    """Two sensors, the second 3° further down than it lay; after 150 s it is turned by 1.5°, then left alone."""
    noise = np.random.default_rng(1)
    for number in range(round(1200 / LINE_S)):
        time_s = number * LINE_S
        lean = np.radians(-1.5 if time_s > 150 else -3.0)
        for place, (name, calibration) in enumerate(calibrations.items()):
            up = (0, np.sin(lean), np.cos(lean)) if place else (0, 0, 1)
            mean = calibration.matrix_counts_per_g @ up + calibration.bias_counts
            counts = tuple(noise.normal(mean, 30))
            yield Sample(name, time_s, counts, 4, 24.0, number % 65536)


def test_a_clevis_may_take_its_time(person, sheet):
    """Two and a half minutes off its horn; a quarter of an hour in which nothing moves ends it, with the way on."""
    store = Store(person.home)
    with Fleet(tuple(person.bench.ports.values())) as fleet:
        sensors = dict(fleet.sensors)
    sides = load_instruments(store, load_sides(store), sensors)
    source = Listed(sensors, at_the_clevis({one.sensor_id: one.calibration for one in sides}))
    runner = runner_of(store, source, asks=True)
    runner.started = now_text()
    with pytest.raises(NotMeasurable, match=r"900 s: nothing moved") as ended:
        match_neutral(runner, load_sheet(Path(sheet)), "flap", sides, "hingeline neutral lantern.rig.toml flap")
    assert [kind for kind, _ in runner.events].count("neutral") == 2
    assert ended.value.cure.endswith("What was recorded is kept; go on with `hingeline neutral lantern.rig.toml flap`")


def test_the_way_on_measures_the_same_thing():
    named = {"left": "b-1", "right": "b-0", "fixed": None, "hold_s": 1.5}
    ports = ("/dev/ttyACM0", "socket://shed:9")
    target = Target("neutral", Path("lantern.rig.toml"), "flap", ports, None, LiveOptions(), named)
    assert [*_given(target)] == (
        ["--port", "/dev/ttyACM0", "--port", "socket://shed:9", "--left", "b-1", "--right", "b-0"]
    )


def test_there_is_no_verdict_on_a_sensor_that_shows_no_1_g(person, sheet):
    """A bias along gravity of 25 mg, as after a shock, is 1.4° across it: atan 0.025. No word rests on that."""
    person.tape("flap")
    person.bench.do("spoil", sensor="left", bias_mg=[0, 0, 25])
    outcome = person.run("neutral", sheet, "flap", "--no-input", "--json")
    (told,) = outcome.data["judgements"]
    assert (outcome.status, told["verdict"], told["inside"]) == (6, "NO VERDICT", False)
    assert re.match(r"left: sensor \S+ shows 1.02\d g at rest", told["reason"])
    assert "the angle may be 1.4° wrong and more" in told["reason"]
    assert told["cure"] == "calibrate it again"
    outcome = person.run("throws", sheet, "flap", "--json", asked=person.throws("flap"))
    up, *_ = outcome.data["surfaces"]["flap"]
    left, right, _ = up["judgements"]
    assert (left["verdict"], right["verdict"]) == ("NO VERDICT", "MORE")


def test_a_one_piece_surface_needs_a_place(builder, tmp_path):
    """Nothing to match with: a mistake of the sheet, told before anything is measured."""
    sheet = tmp_path / "one.rig.toml"
    sheet.write_text(
        'schema_version = 1\naircraft = "Onewing"\nmodes = ["normal"]\n'
        '[surface.elevator]\nthrows.normal = { up = "10 deg" }\n'
    )
    outcome = builder.run("neutral", str(sheet), "elevator")
    assert outcome.status == 2
    assert "neutral.faired" in outcome.stderr
