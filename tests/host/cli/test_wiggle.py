"""`hingeline wiggle` before the bench: which sensor is which, remembered for the commands that measure."""

import pytest
from tests import boards
from tests.boards import board, sensor
from tests.host.person import Person

from hingeline.demo.job import SCENARIO
from hingeline.storage.sides import load_sides
from hingeline.storage.store import Store
from hingeline_virtual.client import VirtualBench

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def anybody(tmp_path_factory):
    """Somebody with the sensors of the demonstration, not calibrated, left in any state."""
    with VirtualBench(SCENARIO) as bench:
        yield Person(bench, tmp_path_factory.mktemp("home"))


@pytest.fixture
def person(anybody):
    """The same with sensors that work on the table."""
    anybody.bench.do("mend", sensor="all")
    anybody.bench.do("place", sensor="all", face="+z")
    return anybody


def wiggle(person, *names):
    """Return the deed of taking these sensors into a moving hand for a while, and putting them back."""

    def deed():
        person.bench.do("hold", sensor=list(names))
        person.bench.do("wait", for_s=1.0)
        person.bench.do("place", sensor=list(names), face="+z")

    return deed


def ids(person):
    """Return the sensor ids by their names on the bench."""
    return {
        sensor["name"]: f"{board['uid']}-{sensor['bus'] * 128 + sensor['address']}"
        for board in person.bench.boards.values()
        for sensor in board["sensors"]
    }


def test_the_wiggled_sensor_is_left_the_other_right_and_both_are_remembered(person):
    known = ids(person)
    told = person.run("wiggle", "--json", asked=(("on the LEFT", wiggle(person, "right")),))
    assert told.status == 0, told.stderr
    assert told.data["sides"] == {"left": known["right"], "right": known["left"]}
    assert load_sides(Store(person.home)) == told.data["sides"]


def test_both_at_once_is_asked_again(person):
    told = person.run(
        "wiggle",
        "--json",
        asked=(
            ("on the LEFT", wiggle(person, "left", "right")),
            ("Several sensors moved alike: hold .* wiggle the one on the LEFT", wiggle(person, "right")),
        ),
    )
    assert told.status == 0, told.stderr
    assert told.data["sides"]["left"] == ids(person)["right"]


def test_on_the_aircraft_a_surface_is_wiggled(person):
    for side in ("left", "right"):
        person.bench.do("tape", sensor=side, surface=f"elevator {side}")

    def deed():
        person.bench.do("deflect", surface="elevator right", deflection_deg=8)
        person.bench.do("deflect", surface="elevator right", deflection_deg=0)

    told = person.run("wiggle", "--json", asked=(("on the LEFT", deed),))
    assert told.status == 0, told.stderr
    assert told.data["sides"]["left"] == ids(person)["right"]


THREE = "speed = 5\n" + board("alpha", sensor("a", "lis3dh") + sensor("b")) + board("beta", sensor("c"))


def test_of_three_the_right_one_is_asked_for_too(tmp_path):
    with boards.bench(tmp_path, THREE) as bench:
        person = Person(bench, tmp_path / "home")
        told = person.run(
            "wiggle",
            "--json",
            asked=(
                ("on the LEFT", wiggle(person, "c")),
                ("on the RIGHT", wiggle(person, "c")),
                ("has its side already: wiggle the one on the RIGHT", wiggle(person, "a")),
            ),
        )
        assert told.status == 0, told.stderr
    assert told.data["sides"] == {"left": ids(person)["c"], "right": ids(person)["a"]}


def test_one_sensor_alone_can_not_be_told_apart(person):
    person.bench.do("fault", sensor="right", kind="absent")
    told = person.run("wiggle", "--json")
    assert told.status == 3
    assert "is the only one that works" in told.data["error"]
