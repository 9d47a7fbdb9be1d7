"""Datum by reversal, its closure, and cautions, on benches whose truths are known."""

import re

import numpy as np
import pytest
from tests import boards
from tests.host.cli import benches
from tests.host.person import Person, at_the_desk

from hingeline.storage.store import Store
from hingeline_calibration.poses import FACES
from hingeline_virtual.client import VirtualBench


def calibrated(bench: VirtualBench, home, *yaws_deg: float) -> Person:
    person = Person(bench, home)
    layings = [person.on_face(face, yaw_deg) for yaw_deg in yaws_deg for face in FACES]
    turns = str(len(yaws_deg))
    assert person.lay(*layings, options=("--turns", turns, "--leaned", "0", "--squareness", "0.05")).status == 0
    return person


@pytest.mark.long
def test_reversal_finds_zero_on_a_table_3_degrees_off_level(tmp_path):
    """Zero within 0.05°, of the requirements; the carrier is square, so its base's normal is z."""
    with boards.bench(tmp_path, benches.STEEP.replace("tilt_deg = 3", "tilt_deg = 0.2")) as bench:
        calibrated(bench, tmp_path, 0, 180)
    with boards.bench(tmp_path, benches.STEEP) as bench:
        person = Person(bench, tmp_path)
        bench.do("place", sensor="all", face="+z")
        outcome = person.run("datum", "--reversal", "--json", asked=(("Turn each", person.on_face("+z", 180)),))
        (gravity,) = outcome.data["datum"]["gravity"].values()
        lean_deg = np.degrees(gravity["vector_g"][:2])
        assert outcome.status == 0
        assert np.abs(lean_deg).max() < 0.05
        assert outcome.data["datum"]["table_tilt_deg"] == pytest.approx(3, abs=0.05)
        # laid again as it was, turned too, nothing has gone
        bench.do("place", sensor="all", face="+z")
        outcome = person.run("drift-check", asked=(("Turn each", person.on_face("+z", 180)),))
        assert outcome.status == 0
        assert ", fine" in outcome.stdout


def test_a_sensor_on_its_lid_is_named(person):
    person.bench.do("place", sensor="all", face="-z")
    outcome = person.run("datum")
    assert outcome.status == 7
    assert "lies upside down" in outcome.stderr


@pytest.fixture(scope="module")
def warming(tmp_path_factory):
    """Somebody before a chip that has warmed up, been calibrated, and had its datum taken."""
    home = tmp_path_factory.mktemp("warming")
    with boards.bench(home, benches.WARMING) as bench:
        bench.do("wait", for_s=60)
        person = calibrated(bench, home, 0)
        assert person.take_datum().status == 0
        yield person


def test_closure_tells_how_far_a_datum_has_gone(warming):
    """Warmer by 38 °C, the bias along y has gone 0.4 mg/°C: 0.87° about the edge.

    Both rests of 2 s have noise of 0.5 mg/√Hz / √(4 s), 0.014°: five of both are 0.1°.
    """
    warming.bench.do("warm", ambient_c=60)
    warming.bench.do("wait", for_s=75)
    outcome = warming.run("drift-check", "--json")
    (gone,) = outcome.data["drift_deg"].items()
    assert outcome.status == 6
    assert outcome.data["inside"] is False
    assert abs(gone[1]) == pytest.approx(np.degrees(0.4e-3 * 38), abs=0.1)
    kept = Store(warming.home).load("datum", "bench")["misclosure_deg"]
    assert dict([gone]) == pytest.approx(kept, abs=5e-5), "as it is printed"
    assert re.search(r"°C warmer than when calibrated: uncertain by ±\d\.\d+°; warm up", outcome.stderr)


@pytest.mark.long
def test_a_closure_on_the_wing_is_no_closure(person, sheet):
    """The sensors are still taped on; the report's neutral counts from a datum that does not hold, then does."""
    person.tape("flap")
    assert person.run("neutral", sheet, "flap").status == 6
    report = ("report", "Moss Lantern", "-o", str(person.home / "report.html"), "--json")
    gone = "neutrals of flap are off by up to this"
    for deed, status, told, here in (
        (lambda: None, 6, "Do the carriers lie on the flat", "does not hold"),
        (person.on_face("+z"), 0, ", fine", "drift checked"),
    ):
        deed()
        outcome = person.run("closure")
        assert outcome.status == status, outcome.stdout
        assert told in outcome.stdout
        assert all(float(reach) < 0.3 for reach in re.findall(r"±(\d+\.\d+), ", outcome.stdout))
        assert person.run("here", "--json").data["datum"].endswith(f", {here}")
        cautions = at_the_desk(person.home, *report).data["cautions"]
        assert any(gone in one for one in cautions) is (status == 6)
        assert (gone in (person.home / "report.html").read_text("utf-8")) is (status == 6)


@pytest.mark.long
def test_warming_up_is_told_and_its_coefficient_kept(warming):
    """0.3 and 0.4 mg/°C across gravity; a time constant of 15 s: the scenario's.

    Windows of 10 s have noise of 0.5 mg/√Hz / √(20 s), 0.0064°: four and a half of both are 0.04°.
    """
    warming.bench.do("warm", ambient_c=10)
    warming.bench.do("wait", for_s=75)
    outcome = warming.run(
        *("warm-up", "--minutes", "1", "--tempco", "--json"),
        asked=(("untouched", lambda: warming.bench.do("warm", ambient_c=22)),),
    )
    told = outcome.data
    rise_c = told["temperatures_c"][-1] - told["temperatures_c"][0]
    assert outcome.status == 0
    assert rise_c > 5
    assert told["drift_deg"] == pytest.approx(np.degrees(0.5e-3 * rise_c), abs=0.04)
    assert told["final_c"] == pytest.approx(31, abs=0.5)
    assert 10 < told["time_constant_s"] < 25
    assert "temperature coefficient kept on this computer and on its board" in outcome.stderr
    tempco = Store(warming.home).load("calibration", told["sensor_id"])["tempco"]
    assert tempco["measured"]
    assert np.array(tempco["counts_per_c"]) / 16.384 == pytest.approx((0.3, 0.4, -0.2), abs=0.05)


def test_an_old_datum_is_told(person, sheet):
    store = Store(person.home)
    store.save("datum", "bench", {**store.load("datum", "bench"), "date": "2026-01-01T10:00:00+00:00"})
    person.tape("flap")
    outcome = person.run("neutral", sheet, "flap", "--json")
    assert outcome.status == 6
    assert re.search(r"the datum is \d+ hours old", outcome.stderr)
    assert "the datum is older than the calibration" in outcome.stderr


@pytest.mark.long
def test_noise_beside_the_datasheet(tmp_path):
    """The scenario's chip has the datasheet's 400 µg/√Hz before it is sampled, which folds what is above half the rate.

    A one-pole low-pass f leaves the variance n² f π/2; its samples, correlated by ρ = exp(-2πf/rate), have at low
    frequency the density of a first-order autoregressive sequence.
    """
    with boards.bench(tmp_path, benches.ONE) as bench:
        person = Person(bench, tmp_path)
        (sensor,) = person.run("boards", "--json").data["boards"][0]["sensors"]
        told = person.run("noise", "--for", "40", "--json").data
        with person.start("noise", "--for", "40") as command:
            while "untouched" not in command.stderr.readline():
                pass
            bench.do("wait", for_s=2)
            bench.do("place", sensor="all", face="+x")
            complaint = command.stderr.read()
            assert command.wait() == 7
    rate_hz, filter_hz = sensor["rate_hz"], sensor["filter_hz"]
    correlation = np.exp(-2 * np.pi * filter_hz / rate_hz)
    folded = filter_hz * np.pi / rate_hz * (1 + correlation) / (1 - correlation)
    assert told["datasheet_ug_per_rthz"] == 400
    assert told["density_ug_per_rthz"] == pytest.approx(400 * np.sqrt(folded), rel=0.15)
    assert told["best_time_s"] >= 2
    assert "within a second, expected it untouched" in complaint
