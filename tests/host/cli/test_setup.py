"""A whole set-up: one command from datum to report, cut short and gone on with; truth beside reading."""

import re
import shutil
from pathlib import Path

import pytest
from tests.host.cli.sceptic import show

from hingeline.rig.kinds import BOTH

pytestmark = pytest.mark.long
TRUE_DEG = {
    "flap": {"up": 5.0, "down": -24.54},
    "elevator": {"up": 12.0, "down": -11.9},
}
"""Of a model that is set up already; the sheet's mm at its chords."""


def stroke(person, surface):
    def sweep():
        for deflection_deg in (-20, 20, 0) if surface == "flap" else (12, -12, 0):
            sides = [f"{surface} {side}" for side in BOTH]
            person.bench.do("deflect", surface=sides, deflection_deg=deflection_deg, over_s=3)

    return rf"{surface}: sweep it slowly", sweep


def surface_deeds(person, surface):
    """What is done on one surface, by what asks for it: tape, stroke, throws."""
    return (person.moves_to(surface), stroke(person, surface), *person.throws(surface))


def set_up(bench):
    """Set the model of a bench up: neutrals match, and end points are right; its sensors lie on the flat."""
    for surface, positions in TRUE_DEG.items():
        named = {f"{surface} {command}": deg for command, deg in positions.items()}
        for side in BOTH:
            bench.do("adjust", surface=f"{surface} {side}", positions=named)
    bench.do("adjust", surface="flap right", neutral_by_deg=-1.8)
    bench.do("adjust", surface="elevator right", neutral_by_deg=0.9)
    bench.do("place", sensor="all", face="+z")


@pytest.fixture
def set_up_model(person):
    """A person whose model is set up."""
    set_up(person.bench)
    return person


@pytest.mark.timeout(300)
def test_one_command_from_datum_to_report_and_on_where_it_was(set_up_model, sheet, tmp_path, monkeypatch):
    person = set_up_model
    monkeypatch.chdir(tmp_path)
    shutil.rmtree(person.home / "datum")
    told, waiting = "", list(surface_deeds(person, "flap"))
    with person.start("setup", sheet) as command:
        for line in command.stderr:
            told += line
            if waiting and re.search(waiting[0][0], line):
                waiting.pop(0)[1]()
            if "elevator, surface 2 of 2" in line:
                command.kill()
                break
        command.wait()
    assert not waiting, told
    assert "Lay 2 sensors on one flat" in told
    lay = (r"Take every sensor off", lambda: person.bench.do("place", sensor="all", face="+z"))
    outcome = person.run("setup", sheet, "--json", asked=(*surface_deeds(person, "elevator"), lay))
    assert outcome.status == 0, outcome.stderr
    assert "flap: tape" not in outcome.stderr, "it was done"
    assert list(outcome.data["throws"]) == list(outcome.data["neutrals"]) == ["elevator"]
    (match,) = outcome.data["neutrals"]["elevator"]["judgements"]
    show("elevator: left - right", 0, match["measured"]["deg"], 0.3)
    for reading in outcome.data["throws"]["elevator"]:
        truth = TRUE_DEG["elevator"].get(reading["command"], 0.0)
        for judgement in reading["judgements"][:2]:
            show(f"elevator {reading['command']}, {judgement['name']}", truth, judgement["measured"]["deg"], 0.2)
    assert outcome.data["drift"]["holds"]
    page = Path(outcome.data["report"]).read_text()
    assert "flap" in page
    assert "elevator" in page
    done = person.run("setup", sheet, "--json")
    assert (done.status, done.data.keys()) == (0, outcome.data.keys())
    assert Path(done.data["report"]).is_file()
    assert "All that the sheet asks for is within the tolerance in this session." in done.stderr
