"""`hingeline calibrate` on the virtual bench: the truths of the scenario found, and what is wrong named."""

import json
import re
from contextlib import ExitStack

import numpy as np
import pytest
from tests import boards
from tests.host.cli import benches
from tests.host.person import Person

from hingeline.device.link.decoder import Line
from hingeline.storage.records import read
from hingeline.storage.store import Store
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.poses import FACES

LEANED = ((1, 1, 0), (-1, 1, 0), (1, 0, 1), (-1, 0, 1), (0, 1, 1), (0, -1, 1))


@pytest.fixture
def at(tmp_path):
    """Return how to come to the bench of a scenario, with a store of one's own."""
    with ExitStack() as stack:
        yield lambda scenario: Person(stack.enter_context(boards.bench(tmp_path, scenario)), tmp_path / "home")


def faces(person: Person, *yaws_deg: float):
    return [person.on_face(face, yaw_deg) for yaw_deg in yaws_deg for face in FACES]


def best(person: Person):
    return [*faces(person, 0, 180), *(person.leaned(*up) for up in LEANED)]


def test_eighteen_rests_find_the_chip_and_the_carrier(at):
    person = at(benches.ONE)
    outcome = person.lay(*best(person), options=("--json",))
    assert outcome.status == 0, outcome.stderr
    (record,) = outcome.data["calibrations"]
    found = Calibration.from_dict(record)
    assert len(found.poses) == 18
    assert not found.poor
    assert not found.priors_decide
    deviations = np.sqrt(np.diag(found.covariance))[9:]
    assert found.bias_counts == pytest.approx(np.array([40, -30, 60]) * 16.384, abs=5 * float(deviations.max()))
    # the carrier, which is out of square beyond the prior of a good print, is seen by the leaned poses
    for face, truth in {"+x": (0.3, -0.2), "-y": (-0.3, 0.2), "+z": (0.2, 0.3)}.items():
        deviation = max(found.squareness_deg[face][2:])
        assert found.squareness_deg[face][:2] == pytest.approx(truth, abs=5 * deviation)
        assert deviation < 0.15  # known before: 0.2
    assert "best next: " in outcome.stderr
    answers = [one.raw for one in read(outcome.session) if isinstance(one, Line)][-100:]
    assert not any(raw.startswith(b"s ") for raw in answers), "nothing streams while its board is given it"


@pytest.mark.long
def test_any_order_and_a_face_turned_on_its_spot(at):
    person = at(benches.ONE)
    layings = [person.on_face(face, yaw_deg) for face in reversed(FACES) for yaw_deg in (0, 180)]
    outcome = person.lay(*layings, options=("--leaned", "0"))
    assert outcome.status == 0
    assert "a 45° deflection to" in outcome.stdout


@pytest.mark.long
def test_a_moved_rest_is_asked_for_again(at):
    """With the carrier propped by 3° a face disagrees: it alone is laid again, both ways."""
    person = at(benches.ONE)
    lay = person.bench.do
    layings = faces(person, 0, 180)
    layings[3] = lambda: lay("place", sensor="all", face="-y", incline_deg=3)
    steps = [("Lay every carrier", layings[0])]
    steps += [(f", {number} of 12", laying) for number, laying in enumerate(layings[1:], 1)]
    steps += [("arrow down not taken: the table's tilt is", person.on_face("-y", 0))]
    steps += [("arrow down, 11 of 12", person.on_face("-y", 180))]
    outcome = person.run("calibrate", "--leaned", "0", asked=tuple(steps))
    assert outcome.status == 0, outcome.stderr
    assert len(re.findall(r"tilt is 1\.\d\d° with arrow down, 0\.[34]", outcome.stderr)) == 2


@pytest.mark.long
def test_the_same_face_thrice_is_not_taken(at):
    person = at(benches.ONE)
    outcome = person.run(
        "calibrate",
        *("--turns", "1", "--leaned", "0"),
        asked=(
            ("Lay every carrier", person.on_face("+z")),
            (", 1 of 6", person.on_face("+z", 180)),
            (r"lid up: all poses of this kind are done", person.on_face("+x")),
            *((f", {number} of 6", person.on_face(face)) for number, face in enumerate(("-x", "+y", "-y", "-z"), 2)),
        ),
    )
    assert outcome.status == 0, outcome.stderr


@pytest.mark.long
def test_faulty_sensors_are_left_out_each_with_its_reason(at):
    person = at(benches.FAULTY)
    outcome = person.lay(*faces(person, 0), options=("--turns", "1", "--leaned", "0"))
    assert outcome.status == 7
    assert "axis x reads 2.00 g, the end of its range" in outcome.stderr
    assert re.search(r"axis y or z reads -?0\.00\d g in every position", outcome.stderr), outcome.stderr
    assert "|gravity| of 0.50 g at 16384 counts per g" in outcome.stderr
    assert len(Store(person.home).keys("calibration")) == 1
    assert "kept on this computer and on its board" in outcome.stdout


@pytest.mark.long
def test_a_poor_calibration_is_refused_or_marked(at):
    person = at(benches.POOR)
    options = ("--turns", "1", "--leaned", "0")
    outcome = person.lay(*faces(person, 0), options=(*options, "--json"))
    told = json.loads(outcome.stdout)
    assert outcome.status == told["exit_status"] == 7
    assert "scale of axis x" in told["error"]
    assert not Store(person.home).keys("calibration")
    outcome = person.lay(*faces(person, 0), options=(*options, "--accept"))
    assert outcome.status == 0
    assert "POOR: scale of axis x" in outcome.stdout
    outcome = person.take_datum()
    assert outcome.status == 0
    assert "is poor: scale of axis x" in outcome.stderr


@pytest.mark.long
def test_eight_sensors_on_two_boards_at_once(at):
    person = at(benches.eight())
    outcome = person.lay(*faces(person, 0), options=("--turns", "1", "--leaned", "0"))
    assert outcome.status == 0, outcome.stderr
    assert outcome.stdout.count("kept on this computer and on its board") == 8
    assert len(Store(person.home).keys("calibration")) == 8
