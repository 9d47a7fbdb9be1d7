"""Faults beyond the end points, through the commands: the bench's surfaces have known ones, and each is found.

What is looked for and what is acceptable is common practice, no source.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from tests import boards
from tests.host.person import Outcome, Person, at_the_desk

from hingeline.demo.job import SCENARIO

SURFACES = """
[[surfaces]]
name = "elevator left"
side = "left"
skin_slope_deg = -3
play_deg = 0.57
compliance_deg = 0.25
positions = { up = 12.0, down = -12.0 }

[[surfaces]]
name = "elevator right"
side = "right"
skin_slope_deg = -3
compliance_deg = 0.25
positions = { up = 12.0, down = -12.0 }

[[surfaces]]
name = "flap left"
side = "left"
play_deg = 0.3
positions = { up = 8.0, down = -25.0 }

[[surfaces]]
name = "flap right"
side = "right"
positions = { up = 8.0, down = -25.0 }

[[surfaces]]
name = "aileron left"
side = "left"
positions = { right = -9.0 }

[[surfaces]]
name = "aileron right"
side = "right"
positions = { right = -9.0 }
"""
SHEET = """
schema_version = 1
aircraft = "Tin Plover"
modes = ["normal"]

[tolerances]
profile = "glider"

[surface.elevator]
sides = ["left", "right"]
chord = "50 mm"
throws.normal = { up = "12 deg", down = "12 deg" }

[surface.flap]
chord = "48 mm"
throws.normal = { up = "8 deg", down = "25 deg" }

[surface.tailplane]
kind = "elevator"
throws.normal = { up = "12 deg", down = "12 deg" }

[surface.aileron]
throws.normal = { up = "12 deg", down = "9 deg" }
"""


@pytest.fixture
def person(calibrated_home, tmp_path):
    """Somebody before the faulty aircraft, with the sensors of the demonstration."""
    with boards.bench(tmp_path, SCENARIO.read_text().partition("[[surfaces]]")[0] + SURFACES) as bench:
        yield Person(bench, shutil.copytree(calibrated_home, tmp_path / "home"))


@pytest.fixture
def sheet(tmp_path) -> str:
    """The rigging sheet of the faulty aircraft."""
    path = tmp_path / "plover.rig.toml"
    path.write_text(SHEET)
    return str(path)


def replayed(tmp_path: Path, outcome: Outcome, *arguments: str) -> Outcome:
    """Run the same command on its recording, before a store that holds nothing."""
    return at_the_desk(tmp_path / "empty", *arguments, "--replay", str(outcome.session))


def values(outcome: Outcome) -> dict[str, dict]:
    return {finding["name"]: finding for finding in outcome.data["results"]}


def pushes(person: Person, side: str, cycles: int):
    """Return what is done to one side of the elevator that many times: pushed up, let go, pushed down, let go."""

    def push(toward: str):
        return lambda: person.bench.do("push", surface=f"elevator {side}", toward=toward)

    steps = (("push its", "up"), ("let go", "free"), ("push it down", "down"), ("let go", "free"))
    return tuple(
        (rf"elevator {side}, {cycle}: {words}", push(toward))
        for cycle in range(1, cycles + 1)
        for words, toward in steps
    )


def test_play_is_read_and_none_is_none(person, sheet, tmp_path):
    person.tape("elevator")
    arguments = ("play", sheet, "elevator", "--limit", "0.5 deg", "--cycles", "2", "--json")
    outcome = person.run(*arguments, asked=(*pushes(person, "left", 2), *pushes(person, "right", 2)))
    found = values(outcome)
    assert outcome.status == 6
    assert found["left, play"]["value"] == pytest.approx(0.57, abs=0.1)  # 0.5 mm at 50 mm
    assert not found["left, play"]["inside"]
    assert found["left, play"]["candidates"]
    assert abs(found["right, play"]["value"]) < 0.1
    assert found["right, play"]["inside"]
    readings = outcome.data["rests_deg"]["left"]
    assert len(readings["pushed up"]) == 2
    pushed_deg = (sum(readings["pushed up"]) - sum(readings["pushed down"])) / 2
    assert pushed_deg == pytest.approx(0.57 + 2 * 0.25, abs=0.1)
    assert replayed(tmp_path, outcome, *arguments).stdout == outcome.stdout


@pytest.mark.long
def test_a_surface_that_nobody_pushed_has_no_play_to_tell(person, sheet, tmp_path):
    """What was read of the other side before is told all the same."""
    person.tape("elevator")
    arguments = ("play", sheet, "elevator", "--cycles", "1", "--json")
    outcome = person.run(*arguments, asked=pushes(person, "left", 1))
    told, problem = (json.loads(line) for line in outcome.stdout.splitlines())
    assert outcome.status == problem["exit_status"] == 7
    assert [one["name"] for one in told["results"]] == ["left, play"]
    assert "elevator right, 1: nothing moved; push" in outcome.stderr
    assert "no push was seen" in problem["error"]
    assert any("right: not measured" in note for note in told["notes"])
    again = replayed(tmp_path, outcome, *arguments)
    assert (again.status, again.stdout) == (7, outcome.stdout)


@pytest.mark.long
def test_hysteresis_at_neutral_is_recovered(person, sheet, tmp_path):
    def away_and_back(position: str):
        def deed() -> None:
            person.bench.do("stick", position=position)
            person.bench.do("wait", for_s=0.3)
            person.bench.do("stick", position="neutral")

        return deed

    person.tape("flap")
    arguments = ("centring", sheet, "flap", "--json")
    ways = [way for _ in range(5) for way in ("up", "down")]
    outcome = person.run(*arguments, asked=tuple((f"flap: {way} with", away_and_back(way)) for way in ways))
    found = values(outcome)
    assert outcome.status == 6
    assert found["left, hysteresis"]["value"] == pytest.approx(0.3, abs=0.05)
    assert not found["left, hysteresis"]["inside"]
    assert abs(found["right, hysteresis"]["value"]) < 0.05
    assert found["left, spread at neutral"]["value"] < 0.2
    assert replayed(tmp_path, outcome, *arguments).stdout == outcome.stdout


def test_droop_is_found_on_the_side_that_has_it(person, sheet, tmp_path):
    def creep() -> None:
        person.bench.begin("deflect", surface="flap left", deflection_deg=-23.2, over_s=20)

    person.tape("flap")
    arguments = ("droop", sheet, "flap", "--for", "20", "--json")
    outcome = person.run(*arguments, asked=((r"full deflection", person.stick("down")), ("holding, 20", creep)))
    found = values(outcome)
    assert outcome.status == 6
    # of 1.8° the play of 0.3° is taken up first; what is read is the mean of the last two of 20 seconds
    assert found["left, droop"]["value"] == pytest.approx(0.95 * 1.8 - 0.3, abs=0.15)
    assert abs(found["right, droop"]["value"]) < 0.1
    assert found["right, droop"]["inside"]
    assert replayed(tmp_path, outcome, *arguments).stdout == outcome.stdout


def test_a_reversed_side_is_found(person, sheet, tmp_path):
    person.tape("aileron")
    arguments = ("direction", sheet, "aileron", "--json")
    outcome = person.run(
        *arguments, asked=((r'Stick right.*say aloud "right: right aileron up"', person.stick("right")),)
    )
    (reading,) = outcome.data["surfaces"]["aileron"]
    assert outcome.status == 6
    assert reading["sides"]["left"]["right_way"]
    assert not reading["sides"]["right"]["right_way"]
    assert (reading["sides"]["right"]["went"], reading["sides"]["right"]["expected"]) == ("down", "up")
    assert "no pilot's check" in outcome.data["note"]
    assert replayed(tmp_path, outcome, *arguments).stdout == outcome.stdout


@pytest.mark.long
def test_a_tracking_error_at_mid_travel_alone_is_found(person, sheet, tmp_path):
    """Both sides agree at neutral and at both ends; half way up the right one is 1.2° ahead."""
    up = [(0.0, 0.0), (6.0, 7.2), (12.0, 12.0), (6.0, 7.2), (0.0, 0.0), (-12.0, -12.0)]

    def sweep() -> None:
        begins: dict[str, float] = {}
        for left_deg, right_deg in [(-12.0, -12.0), *up, (0.0, 0.0)]:
            over_s = 4.0 if left_deg == -12.0 else 2.0
            for surface, deflection_deg in (("elevator right", right_deg), ("flap right", left_deg)):
                person.bench.begin("deflect", surface=surface, deflection_deg=deflection_deg, over_s=over_s, **begins)
                begins = {"after_s": 0.0}
            begins = {"after_s": over_s}

    person.bench.do("tape", sensor="left", surface="flap right")
    person.bench.do("tape", sensor="right", surface="elevator right")
    arguments = ("sweep", sheet, "elevator", "--sweeps", "1", "--json")
    outcome = person.run(*arguments, asked=((r"sweep slowly", sweep),))
    (tracking,) = (one for what, one in values(outcome).items() if what.startswith("tracking"))
    assert outcome.status == 6
    assert tracking["value"] == pytest.approx(-1.2, abs=0.25)
    assert 4 < float(re.search(r"at (\S+)°", tracking["name"])[1]) < 9
    steps = outcome.data["steps"]
    ends = [step for step in steps if abs(step["position_deg"]) > 11]
    assert ends
    for step in ends:  # from 11 to 12° the sides come together: 1.2° (12 - 11) / 6 is left at most
        assert abs(step["left_minus_right_deg"]) < 0.2 + 3 * step["standard_uncertainty_deg"]
    assert replayed(tmp_path, outcome, *arguments).stdout == outcome.stdout


@pytest.mark.long
def test_a_slow_sweep_is_waited_for(person, sheet, tmp_path):
    """Longer than a rest is waited for; both surfaces do the same, and nothing is found."""

    def sweep() -> None:
        for deflection_deg, over_s in ((12, 17), (-12, 45), (12, 45), (0, 17)):
            person.bench.begin("deflect", surface=alike, deflection_deg=deflection_deg, over_s=over_s)

    alike = ["flap right", "elevator right"]
    for side, surface in zip(("left", "right"), alike, strict=True):
        person.bench.do("tape", sensor=side, surface=surface)
    arguments = ("sweep", sheet, "elevator", "--sweeps", "1", "--json")
    outcome = person.run(*arguments, asked=((r"sweep slowly", sweep),))
    assert outcome.status == 0
    assert outcome.data["inside"]
    assert outcome.data["travel_deg"]["left"] == pytest.approx([-12, 12], abs=0.3)
    assert replayed(tmp_path, outcome, *arguments).stdout == outcome.stdout


def test_half_stick_and_a_surface_in_one_piece(person, sheet, tmp_path):
    """Expo of the right aileron's servo alone; a sweep with one sensor has nothing to track against."""

    def to(deflection_deg: float):
        return lambda: person.bench.do("deflect", surface="aileron right", deflection_deg=deflection_deg)

    def once() -> None:
        for deflection_deg in (12.0, -12.0, 12.0, 0.0):
            person.bench.do("deflect", surface="aileron right", deflection_deg=deflection_deg, over_s=2)

    person.bench.do("tape", sensor="left", surface="aileron right")
    arguments = ("sweep", sheet, "tailplane", "--sweeps", "1", "--points", "one-way", "--json")
    outcome = person.run(
        *arguments,
        asked=(
            ("one way: half stick, and", to(4.5)),
            ("one way: full stick", to(12.0)),
            ("one way: half stick again", to(4.5)),
            ("sweep slowly", once),
        ),
    )
    found = values(outcome)
    assert outcome.status == 6
    assert found["middle, half of full stick one way"]["value"] == pytest.approx(0.375, abs=0.01)
    assert found["middle, half stick one way: hysteresis"]["inside"]
    assert any("nothing to track against" in note for note in outcome.data["notes"])
    assert replayed(tmp_path, outcome, *arguments).stdout == outcome.stdout


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("play", "elevator", "--limit", "half"), "expected a tolerance"),
        (("centring", "elevator", "--limit", "0.3 mm"), "expected degrees"),
        (("droop", "rotor"), "no surface 'rotor'"),
    ],
)
def test_what_is_to_be_mended_is_told_before_anything_is_asked(sheet, tmp_path, arguments, told):
    command, surface, *options = arguments
    outcome = subprocess.run(
        [sys.executable, "-m", "hingeline", command, sheet, surface, *options],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "HINGELINE_HOME": str(tmp_path / "home")},
    )
    assert (outcome.returncode, told in outcome.stderr) == (2, True), outcome.stderr
    assert outcome.stderr.count("--limit") == ("--limit" in options)
    assert not (tmp_path / "home").exists()
