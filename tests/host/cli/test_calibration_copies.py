"""One calibration in several places: history, files to carry, the board's copy and this computer's."""

import json
import shutil

import pytest
from tests import boards
from tests.host.cli import benches
from tests.host.person import Person

from hingeline.storage.sealed import seal
from hingeline.storage.store import Store
from hingeline_calibration.poses import FACES


@pytest.fixture
def home(calibrated_home, tmp_path):
    """A store of one's own with the demonstration's calibrations."""
    return shutil.copytree(calibrated_home, tmp_path / "home")


@pytest.fixture
def alone(home, capfd, monkeypatch):
    """Return how to run a command without any board; it gives status, standard output and error."""
    from hingeline.cli import cli

    monkeypatch.setenv("HINGELINE_HOME", str(home))

    def run(*arguments: object) -> tuple[int, str, str]:
        status = cli.main([str(one) for one in arguments], standalone_mode=False)
        return (status or 0, *capfd.readouterr())

    return run


@pytest.mark.long
def test_history_export_import_and_restore(home, alone, tmp_path):
    store = Store(home)
    sensor = store.keys("calibration")[0]
    first = store.load("calibration", sensor)
    store.save("calibration", sensor, {**first, "date": "2027-01-01T10:00:00+00:00"})
    file = tmp_path / "left.json"
    assert alone("calibration", "export", sensor, file, "--number", 1)[0] == 0
    assert json.loads(file.read_text())["payload"] == first
    status, stdout, stderr = alone("calibration", "import", file)
    assert status == 0
    assert "number 3" in stdout
    assert f"calibration choose {sensor} --from host" in stderr
    assert store.load("calibration", sensor) == first
    assert alone("calibration", "restore", sensor, 2)[0] == 0
    assert store.load("calibration", sensor)["date"].startswith("2027")
    listed = alone("calibration", "list")[1].splitlines()
    assert [line.split("  ")[1] for line in listed if line.startswith(sensor)] == [
        f"number {number}" for number in (1, 2, 3, 4)
    ]
    assert "a 45° deflection to ±" in alone("calibration", "show", sensor)[1]


def test_an_edited_file_is_not_imported(home, alone, tmp_path):
    sensor = Store(home).keys("calibration")[0]
    file = tmp_path / "edited.json"
    alone("calibration", "export", sensor, file)
    file.write_text(file.read_text().replace('"poor": []', '"poor": ["no"]'))
    status, _, stderr = alone("calibration", "import", file)
    assert status == 2
    assert "was edited since hingeline wrote it: its checksum differs" in stderr


def test_a_file_of_a_later_format_is_not_imported(home, alone, tmp_path):
    store = Store(home)
    sensor = store.keys("calibration")[0]
    file = tmp_path / "later.json"
    file.write_bytes(seal("calibration", sensor, {**store.load("calibration", sensor), "format": 99}))
    status, _, stderr = alone("calibration", "import", file)
    assert status == 2
    assert "a calibration of format 99, expected at most 1" in stderr
    assert "Update hingeline" in stderr


def test_a_datum_is_no_calibration(home, alone, tmp_path):
    file = tmp_path / "datum.json"
    file.write_bytes(seal("datum", "bench", Store(home).load("datum", "bench")))
    status, _, stderr = alone("calibration", "import", file)
    assert status == 2
    assert "holds the datum of bench" in stderr
    assert "Name a file that `hingeline calibration export` wrote" in stderr


@pytest.mark.parametrize("content", [b"", b"chord = 3\n", b"\xff\xd8", b"{}"])
def test_a_file_that_is_none_of_ours_is_not_imported(alone, tmp_path, content):
    """The cure is another file: neither to calibrate, nor to take this one away."""
    file = tmp_path / "other.json"
    file.write_bytes(content)
    status, _, stderr = alone("calibration", "import", file)
    assert status == 2
    assert "Name a file that `hingeline calibration export` wrote" in stderr
    assert "take the file away" not in stderr


@pytest.mark.long
def test_the_board_carries_it_to_another_computer_and_no_copy_wins_unasked(tmp_path):
    with boards.bench(tmp_path, benches.ONE) as bench:
        one, other = Person(bench, tmp_path / "one"), Person(bench, tmp_path / "other")

        def calibrate(person: Person) -> str:
            layings = [person.on_face(face) for face in FACES]
            outcome = person.lay(*layings, options=("--turns", "1", "--leaned", "0", "--json"))
            assert outcome.status == 0, outcome.stderr
            return outcome.data["calibrations"][0]["date"]

        before = calibrate(one)
        sensor = Store(one.home).keys("calibration")[0]
        outcome = other.take_datum()
        assert outcome.status == 0
        assert f"its board brought its calibration of {before}" in outcome.stderr
        assert Store(other.home).load("calibration", sensor) == Store(one.home).load("calibration", sensor)

        after = calibrate(one)
        outcome = other.take_datum()
        assert outcome.status == 2
        assert f"on this computer that of {before}, on its board that of {after}" in outcome.stderr
        assert "its board's is newer" in outcome.stderr
        assert other.run("calibration", "choose", sensor, "--from", "host").status == 0
        assert other.take_datum().status == 0
        assert one.take_datum().status == 2
        assert one.run("calibration", "choose", sensor, "--from", "board").status == 0
        assert Store(one.home).load("calibration", sensor)["date"] == before
        assert [entry.number for entry in Store(one.home).history("calibration", sensor)] == [1, 2, 3]
