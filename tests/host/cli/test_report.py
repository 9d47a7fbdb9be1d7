"""From the bench to paper: what the commands of a visit record, the report reads whole."""

import json
from pathlib import Path

import pytest
from tests.host.report.conftest import run
from tests.host.report.pages import Page

from hingeline.storage.records import Happening, read


@pytest.fixture
def visited(person, sheet):
    """Somebody who has measured the flaps of the demonstration's glider, matched the neutrals and measured again."""
    person.tape("flap")
    assert person.run("neutral", sheet, "flap").status == 6
    person.bench.do("adjust", surface="flap right", neutral_by_deg=-1.8)
    assert person.run("neutral", sheet, "flap").status == 0
    assert person.run("throws", sheet, "flap", asked=person.throws("flap")).status == 6
    return person.home


def test_a_visit_on_paper(visited, tmp_path):
    output = tmp_path / "lantern.html"
    outcome = run("report", "Moss Lantern", "-o", str(output), "--json", home=visited)
    told = json.loads(outcome.stdout)
    page = Page(output.read_bytes())
    assert outcome.status == 0
    assert (told["readings"], told["inside"]) == (9, 3)
    assert told["cautions"] == []
    assert told["not_measured"] == [
        {"surface": "elevator", "position": "neutral", "modes": []},
        {"surface": "elevator", "position": "up", "modes": ["normal"]},
        {"surface": "elevator", "position": "down", "modes": ["normal"]},
    ]
    assert "elevator neutral; up (normal); down (normal)" in page.text
    assert "MATCHED" in page.text
    assert "flap: deflection over time" in page.text
    assert "Calibration residuals" in page.text
    assert "of 2 sensors taken off and counted" in page.text
    listed = run("sessions", "Moss Lantern", home=visited).stdout
    assert [row.strip() for row in listed.splitlines()[2:]] == 2 * ["neutral flap"] + ["throws flap"]


def test_a_session_carries_the_sheet_and_the_last_one_counts(person, sheet, tmp_path):
    """Between two commands of a visit the sheet is written anew, with a mode that nobody measures."""
    mine = tmp_path / "lantern.rig.toml"
    first = Path(sheet).read_text("utf-8")
    second = first.replace('["normal"]', '["normal", "speed"]  # é').replace(
        "[surface.elevator]", '[surface.elevator]\nthrows.speed = { down = "2 deg" }'
    )
    person.tape("elevator")
    sessions = []
    for text in (first, second):
        mine.write_bytes(text.replace("\n", "\r\n").encode())
        outcome = person.run("neutral", str(mine), "elevator")
        assert outcome.status in (0, 6)
        sessions.append(outcome.session)
    mine.unlink()
    for folder, text in zip(sessions, (first, second), strict=True):
        loaded = [one for one in read(folder) if isinstance(one, Happening) and one.kind == "loaded"]
        (recorded,) = (one.fields for one in loaded if one.fields["name"] == "sheet")
        assert recorded["payload"] == {"text": text.replace("\n", "\r\n")}
    for name, elevator in (
        (str(sessions[0]), "up (normal); down (normal)"),
        ("Moss Lantern", "up (normal); down (normal, speed)"),
    ):
        told = run("report", name, "-o", str(tmp_path / "page.html"), home=person.home).stderr
        assert told.splitlines()[1:3] == [
            "  flap: neutral; up (normal); down (normal)",
            f"  elevator: {elevator}",
        ]
