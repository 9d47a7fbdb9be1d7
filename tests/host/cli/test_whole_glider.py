"""A whole sheet without a key, from the datum to the report: every surface and mode of the glider's template."""

import json
import re
import shutil

import pytest
import tomlkit
from tests import boards
from tests.host.person import Person, at_the_desk, printing, session_of
from tests.host.report.pages import Page

from hingeline.checks.positions import positions
from hingeline.demo.job import SCENARIO
from hingeline.rig import load_sheet
from hingeline.storage.sheets import new_sheet

pytestmark = pytest.mark.long

OFF_DEG = {"left": 0.3, "right": -0.2, "middle": 0.4}
"""How far each side goes too far up, whatever is commanded."""
NEUTRAL_DEG = {"left": 0.0, "right": 0.5, "middle": 0.0}
REACH_DEG = 0.35
"""Of what is measured: four standard uncertainties of a flap at 70°, whose carrier is taped 1° askew."""


def position_name(text: str) -> str:
    """Return the name at the virtual bench of what a command calls a position."""
    return re.sub(r"[^a-z0-9]+", " ", text).strip()


def scenario(sheet) -> str:
    """Return the bench of the demonstration with every surface of a sheet, each a little off."""
    bench = tomlkit.parse(SCENARIO.read_text("utf-8"))
    bench["surfaces"] = [
        {
            "name": f"{name} {side}",
            "side": "right" if side == "right" else "left",
            "dihedral_deg": 90 if side == "middle" else 3,
            "neutral_deg": NEUTRAL_DEG[side],
            "positions": {
                position_name(f"{name} {one.name}"): round(one.targets[side].deflection_deg + OFF_DEG[side], 3)
                for one in positions(sheet, name)
                if side in one.targets
            },
        }
        for name in sheet.surfaces
        for side in sheet.surface(name).sides
    ]
    return tomlkit.dumps(bench)


def place_on(person: Person, surface: str, sides: tuple[str, ...]) -> None:
    """Tape the sensors on a surface; for a rudder the model is laid on its right side."""
    if sides == ("middle",):
        person.bench.do("attitude", roll_deg=-90)
        person.bench.do("tape", sensor="left", surface=f"{surface} middle")
    else:
        person.tape(surface)


def measure(person: Person, sheet, *arguments: str) -> tuple[dict, str]:
    """Run a command, doing what it asks for with the sticks and the sensors; return its data and its talk."""
    told = ""
    with person.start(*arguments, "--json") as command, printing(command) as printed:
        for line in command.stderr:
            told += line
            if found := re.match(r"(\w+): tape the sensors on", line):
                surface = found[1]
                sides = sheet.surface(surface).sides
                person.bench.do("wait", for_s=3)
                place_on(person, surface, sides)
                person.bench.do("wait", for_s=3)
                for deflection_deg in (8, 0):
                    person.bench.do("deflect", surface=f"{surface} {sides[0]}", deflection_deg=deflection_deg)
            elif re.match(r"\w+: (?:.*then )?neutral \(\w+\), sticks centred", line):
                person.bench.do("stick", position="neutral")
            elif found := re.match(r"(\w+: )(?:.*then )?(.+ \(\w+\)), all the way, and hold", line):
                person.bench.do("stick", position=position_name(found[1] + found[2]))
        stdout = printed()
    assert command.returncode in (0, 6), told
    return json.loads(stdout), told


def test_the_whole_glider_without_a_key_from_datum_to_report(calibrated_home, tmp_path):
    path = tmp_path / "reed.rig.toml"
    new_sheet(path, "glider")
    sheet = load_sheet(path)
    surfaces = list(sheet.surfaces)
    assert surfaces == ["aileron", "flap", "elevator", "rudder"]
    home = shutil.copytree(calibrated_home, tmp_path / "home")
    with boards.bench(tmp_path, scenario(sheet)) as bench:
        person = Person(bench, home)
        assert person.take_datum().status == 0
        for surface in surfaces[:-1]:
            place_on(person, surface, sheet.surface(surface).sides)
            found, _ = measure(person, sheet, "neutral", str(path), surface)
            assert found["judgements"][0]["measured"]["deg"] == pytest.approx(-NEUTRAL_DEG["right"], abs=REACH_DEG)
        place_on(person, "aileron", sheet.surface("aileron").sides)
        found, told = measure(person, sheet, "throws", str(path))
    seen = {
        (surface, reading["mode"], reading["command"], judgement["name"]): judgement["measured"]["deg"]
        for surface, readings in found["surfaces"].items()
        for reading in readings
        for judgement in reading["judgements"]
    }
    for surface in surfaces:
        for position in positions(sheet, surface):
            for side, target in position.targets.items():
                measured_deg = seen[surface, position.mode, position.command, side]
                assert measured_deg == pytest.approx(target.deflection_deg + OFF_DEG[side], abs=REACH_DEG), position
    said = [
        at_the_desk(home, "report", visit, "-o", str(tmp_path / "sheet.html")).stderr
        for visit in (sheet.aircraft, str(session_of(told)))
    ]
    assert said[0].startswith("All that the rigging sheet asks for was measured.\n")
    assert [line for line in said[1].splitlines() if line.startswith("  ")] == [
        f"  {surface}: neutral" for surface in surfaces[:-1]
    ], "the session of the throws alone"
    text = Page((tmp_path / "sheet.html").read_bytes()).text
    for surface in surfaces:
        for position in positions(sheet, surface):
            assert f"{position.command} · {position.mode}" in text
