"""A command is killed in the midst of a sheet: what was measured is kept, and the visit goes on from there."""

import os
import re
import signal
import sys
from pathlib import Path

import pytest
from tests.host.person import Person, at_the_desk, session_of

from hingeline.demo.job import SHEET
from hingeline.device.link.decoder import Line
from hingeline.storage.records import read

LANTERN = "lantern.rig.toml"
SET_CLOCK = Path(__file__).parents[2] / "process" / "set_clock"
THROWS_DEG = {"flap": (5.0, -24.5), "elevator": (12.0, -11.9)}
"""What the sheet wants up and down, its 20.4 mm and 8.7 mm as degrees: the surfaces are given it."""


@pytest.fixture
def matched(person, tmp_path, monkeypatch) -> Person:
    """Somebody whose aircraft is as its sheet wants it, the sensors on the flaps, both neutrals read."""
    (tmp_path / LANTERN).write_bytes(SHEET.read_bytes())
    monkeypatch.chdir(tmp_path)
    person.bench.do("adjust", surface="flap right", neutral_by_deg=-1.8)
    person.bench.do("adjust", surface="elevator right", neutral_by_deg=0.9)
    for surface, (up_deg, down_deg) in THROWS_DEG.items():
        positions = {f"{surface} up": up_deg, f"{surface} down": down_deg}
        for side in ("left", "right"):
            person.bench.do("adjust", surface=f"{surface} {side}", positions=positions)
    for surface in ("elevator", "flap"):
        person.tape(surface)
        assert person.run("neutral", LANTERN, surface).status == 0
    return person


def killed_at(asking: str, person: Person, *arguments: str, asked: tuple) -> Path:
    """Run a command as `Person.run` does, kill it when it asks for something, and return the folder of its session."""
    with person.start(*arguments) as command:
        told, waiting = "", list(asked)
        for line in command.stderr:
            told += line
            if waiting and re.search(waiting[0][0], line):
                waiting.pop(0)[1]()
            elif re.search(asking, line):
                command.kill()
    assert command.returncode == -signal.SIGKILL, told
    return session_of(told)


def test_a_killed_command_loses_nothing_and_the_visit_goes_on_where_it_was(matched):
    elevator = matched.throws("elevator")
    folder = killed_at(
        "elevator: down",
        matched,
        *("throws", LANTERN),
        asked=(*matched.throws("flap"), matched.moves_to("elevator"), elevator[0]),
    )
    throws = [event.fields for event in read(folder) if not isinstance(event, Line) and event.kind == "throw"]
    # a throw before a neutral that came back a little off is recorded again, wider
    assert list(dict.fromkeys((event["surface"], event["command"]) for event in throws)) == [
        *(("flap", command) for command in ("up", "down", "neutral")),
        ("elevator", "up"),
    ]
    # left, right and their difference; at neutral the difference alone
    sides, neutrals = 3, 2
    report = ("report", "Moss Lantern", "--json")
    told = at_the_desk(matched.home, *report).data
    assert (told["readings"], told["inside"]) == (neutrals + 4 * sides - 1, neutrals + 4 * sides - 1)

    matched.bench.do("stick", position="neutral")
    step = matched.run("here", "--json").data["next"]
    assert step.startswith(f"hingeline throws {LANTERN} elevator --port ")
    outcome = matched.run(*step.split()[1:], asked=elevator)
    assert outcome.status == 0, outcome.stdout
    assert matched.run("here", "--json").data["next"].startswith("hingeline drift-check")
    told = at_the_desk(matched.home, *report).data
    assert (told["readings"], told["inside"]) == (neutrals + 6 * sides - 2, neutrals + 6 * sides - 2)


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="the time since the computer's start is Linux's")
def test_a_clock_that_is_set_by_years_changes_no_side_datum_or_session(matched, monkeypatch):
    """A small computer begins with an old date, until a network tells it the true one; and the other way round."""
    began = session_of(matched.run("neutral", LANTERN, "flap").stderr).parent
    monkeypatch.setenv("PYTHONPATH", str(SET_CLOCK))
    for years in (-5, 7):
        monkeypatch.setenv("HINGELINE_AHEAD_S", str(years * 365.25 * 86_400))
        told = matched.run("here", "--json").data
        assert told["next"].startswith(f"hingeline throws {LANTERN} flap --port "), told
        neutral = matched.run("neutral", LANTERN, "flap")
        throws = matched.run("throws", LANTERN, "flap", asked=matched.throws("flap"))
        for outcome in (neutral, throws):
            assert session_of(outcome.stderr).parent == began
            assert "datum" not in outcome.stderr
            assert "wiggle" not in outcome.stderr
        os.remove(session_of(throws.stderr))
