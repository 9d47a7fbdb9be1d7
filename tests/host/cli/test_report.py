"""From the bench to paper: what the commands of a visit record, the report reads whole."""

import json

import pytest
from tests.host.report.conftest import run
from tests.host.report.pages import Page


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
    assert "HOLD" in page.text
    assert "flap: deflection over time" in page.text
    assert "Calibration residuals" in page.text
    assert "of 2 sensors taken off and counted" in page.text
    listed = run("sessions", "Moss Lantern", home=visited).stdout
    assert [row.split()[1:] for row in listed.splitlines()[1:]] == [["neutral", "flap"]] * 2 + [
        ["throws", "flap"]
    ]
