"""Every template is a right sheet of its kind, and new files never overwrite."""

from __future__ import annotations

from importlib.resources import files

import pytest

from hingeline.errors import SheetError
from hingeline.rig import load_sheet, parse_sheet
from hingeline.rig.show import sheet_text
from hingeline.rig.templates import SUFFIX, TEMPLATES, template_text
from hingeline.storage.sheets import new_sheet

KINDS = {
    "trainer": {"aileron", "elevator", "rudder"},
    "flaperon-trainer": {"flaperon", "elevator", "rudder"},
    "two-servo-elevator": {"aileron", "elevator", "rudder"},
    "aerobatic": {"aileron", "elevator", "rudder"},
    "biplane": {"aileron", "elevator", "rudder"},
    "twin-rudder": {"aileron", "flap", "elevator", "rudder"},
    "flying-wing": {"elevon"},
    "v-tail": {"aileron", "v-tail"},
    "glider": {"aileron", "flap", "elevator", "rudder"},
    "six-flap-glider": {"aileron", "flap", "v-tail"},
    "jet": {"aileron", "flap", "elevator", "rudder", "airbrake"},
}


def test_the_templates_are_all_the_files_there_are():
    names = {path.name for path in (files("hingeline.rig") / "templates").iterdir()}
    assert names == {template + SUFFIX for template in TEMPLATES}
    assert set(KINDS) == set(TEMPLATES)


@pytest.mark.parametrize("template", TEMPLATES)
def test_a_template_is_a_right_sheet_of_its_kind(template):
    sheet = parse_sheet(template_text(template), template)
    assert {surface.kind for surface in sheet.surfaces.values()} == KINDS[template]
    assert {target.surface for target in sheet.targets()} == set(sheet.surfaces)
    assert {target.mode for target in sheet.targets()} == set(sheet.modes)


@pytest.mark.parametrize("template", TEMPLATES)
def test_a_template_is_shown_with_every_target_unit_and_convention(template):
    sheet = parse_sheet(template_text(template), template)
    text = sheet_text(sheet)
    for target in sheet.targets():
        assert f"{target.deflection_deg:+.1f}°" in text
        assert target.travel_mm is None or f"{target.travel_mm:+.1f} mm" in text
        assert target.command in text
    assert {"ruler": "tip to tip", "height": "square to the chord"}[sheet.convention] in text
    assert max(len(line) for line in text.split("\n")) <= 110
    assert not any(line.endswith(" ") for line in text.split("\n"))


def test_a_simple_sheet_is_short():
    lines = [line for line in template_text("trainer").split("\n") if line and not line.startswith("#")]
    assert len(lines) <= 20


def test_crow_has_several_brake_positions_with_elevator_compensation():
    landing = parse_sheet(template_text("glider"), "glider").targets(mode="landing")
    crow = {(target.command, target.surface): target.deflection_deg for target in landing if target.side == "left"}
    for command in ("crow 50 %", "crow 100 %"):
        assert crow[command, "aileron"] > 0 > crow[command, "flap"]
        assert crow[command, "elevator"] < 0
    assert crow["crow 100 %", "flap"] < crow["crow 50 %", "flap"]


def test_a_new_sheet_has_the_name_of_its_file(tmp_path):
    path = tmp_path / "my own.rig.toml"
    new_sheet(path, "jet")
    assert load_sheet(path).aircraft == "my own"
    assert path.read_text(encoding="utf-8").replace("my own", "Cinderlark") == template_text("jet")


def test_a_file_that_is_there_is_not_overwritten(tmp_path):
    path = tmp_path / "mine.rig.toml"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(SheetError, match="isn't overwritten"):
        new_sheet(path, "trainer")
    assert path.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("mine.toml", "one that ends in .rig.toml. Name it mine.rig.toml"),
        (".rig.toml", "one that ends in"),
        ("a\x1b[31m.rig.toml", r"a file called 'a\\x1b\[31m.rig.toml'. Name it a-\[31m.rig.toml"),
        ("a\x7f.rig.toml", "printable characters"),
        ("no folder/mine.rig.toml", "its folder does not exist"),
    ],
)
def test_a_name_that_is_none_for_a_sheet_is_refused(tmp_path, name, message):
    with pytest.raises(SheetError, match=message):
        new_sheet(tmp_path / name, "trainer")
    assert list(tmp_path.iterdir()) == []
