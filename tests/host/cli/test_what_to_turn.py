"""A wrong low rate through the command: it names that rate, and once it is set every throw is within the tolerance."""

import re
import shutil

import pytest
import tomlkit
from tests import boards
from tests.host.cli.test_whole_glider import position_name
from tests.host.person import Person

from hingeline.checks.positions import positions
from hingeline.demo.job import SCENARIO
from hingeline.rig import load_sheet

SHEET = """
schema_version = 1
aircraft = "Tin Plover"
modes = ["low", "high"]
[tolerances]
profile = "glider"
[surface.elevator]
sides = ["left", "right"]
throws.low = { up = "8 deg", down = "8 deg" }
throws.high = { up = "16 deg", down = "16 deg" }
"""
LOW_RATE = 1.25
"""Times what it should be."""


def stands_deg(sheet, side, low_rate):
    """Where a side stands at each position of the bench, by what the low rate is times what it should be."""
    rates = {"low": low_rate, "high": 1.0}
    return {
        position_name(f"elevator {each.name}"): round(each.targets[side].deflection_deg * rates[each.mode], 4)
        for each in positions(sheet, "elevator")
    }


@pytest.mark.long
def test_a_wrong_low_rate_is_named_and_cured(calibrated_home, tmp_path):
    path = tmp_path / "plover.rig.toml"
    path.write_text(SHEET)
    sheet = load_sheet(path)
    bench = tomlkit.parse(SCENARIO.read_text("utf-8"))
    bench["surfaces"] = [
        {"name": f"elevator {side}", "side": side, "positions": stands_deg(sheet, side, LOW_RATE)}
        for side in ("left", "right")
    ]
    with boards.bench(tmp_path, tomlkit.dumps(bench)) as virtual:
        person = Person(virtual, shutil.copytree(calibrated_home, tmp_path / "home"))
        person.tape("elevator")
        deeds = tuple(
            (re.escape(f"{each.name}, all the way"), person.stick(position_name(f"elevator {each.name}")))
            for each in positions(sheet, "elevator")
        )
        back = tuple((rf"elevator: .*neutral \({mode}\)", person.stick("neutral")) for mode in sheet.modes)
        asked = (*deeds[:2], back[0], *deeds[2:], back[1])
        wrong = person.run("throws", str(path), "elevator", "--json", "--now", "elevator low rate=60", asked=asked)
        assert wrong.status == 6, wrong.stderr
        (change,) = wrong.data["settings"]["elevator"]["changes"]
        assert (change["name"], change["side"], change["now_percent"]) == ("low rate", "", 60.0)
        assert change["new_percent"] == pytest.approx(60 / LOW_RATE, abs=1.0)
        for side in ("left", "right"):
            left_over = LOW_RATE * change["new_percent"] / 60
            virtual.do("adjust", surface=f"elevator {side}", positions=stands_deg(sheet, side, left_over))
        cured = person.run("throws", str(path), "elevator", "--json", asked=asked)
        assert cured.status == 0, cured.stderr
        assert cured.data["settings"]["elevator"]["changes"] == []
        assert cured.data["settings"]["elevator"]["now_percent"] == {"low rate": 60.0}, "kept for the session"
