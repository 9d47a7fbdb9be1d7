"""Edits keep everything but the value: compared as text with the original."""

from __future__ import annotations

import difflib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.posix import posix

from hingeline.errors import SheetError
from hingeline.rig import load_sheet, parse_sheet
from hingeline.rig.edit import edited, key_and_value
from hingeline.rig.templates import TEMPLATES, template_text
from hingeline.storage.sheets import edit_sheet

GLIDER = template_text("glider")


def changed_lines(before: str, after: str) -> list[str]:
    return [line for line in difflib.ndiff(before.splitlines(), after.splitlines()) if line[0] in "+-"]


@pytest.mark.parametrize(
    ("key", "value", "change"),
    [
        (
            ("surface", "flap", "chord"),
            "50 mm",
            ['- chord = "52 mm"', '+ chord = "50 mm"'],
        ),
        (
            ("surface", "elevator", "sides"),
            ["left"],
            [
                '- sides = ["left", "right"]        # two halves; leave out if it is one piece',
                '+ sides = ["left"]        # two halves; leave out if it is one piece',
            ],
        ),
        (
            ("surface", "aileron", "throws", "cruise", "up"),
            "16 mm",
            [
                '- throws.cruise = { up = "15 mm", differential = "40 %" }   # down is 40 % less than up',
                '+ throws.cruise = { up = "16 mm", differential = "40 %" }   # down is 40 % less than up',
            ],
        ),
        (
            ("preset", "landing", "crow 50 %", "flap"),
            "38 deg down",
            ['- flap = "35 deg down"', '+ flap = "38 deg down"'],
        ),
        (("surface", "rudder", "station"), "9 mm", ['+ station = "9 mm"']),
        (
            ("surface", "rudder", "tolerances", "throw"),
            "1 deg",
            ["+ [surface.rudder.tolerances]", '+ throw = "1 deg"'],
        ),
    ],
    ids=lambda part: ".".join(part) if isinstance(part, tuple) else None,
)
def test_one_key_changes_and_nothing_else(key, value, change):
    after = edited(GLIDER, "glider.rig.toml", key, value)
    assert [line for line in changed_lines(GLIDER, after) if line.strip("+- ")] == change


@given(
    st.sampled_from(TEMPLATES),
    st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=40),
)
def test_an_edit_is_read_back_and_undone_to_the_same_bytes(template, name):
    text = template_text(template)
    before = parse_sheet(text, "a").aircraft
    after = edited(text, "a", ("aircraft",), name)
    assert parse_sheet(after, "a").aircraft == name
    assert edited(after, "a", ("aircraft",), before) == text


def test_the_file_is_replaced_and_its_line_ends_stay(tmp_path):
    path = tmp_path / "a.rig.toml"
    path.write_bytes(GLIDER.replace("\n", "\r\n").encode())
    edit_sheet(path, ("surface", "flap", "chord"), "50 mm")
    assert path.read_bytes() == GLIDER.replace("52 mm", "50 mm").replace("\n", "\r\n").encode()
    assert load_sheet(path).surface("flap").chord_mm == 50
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_to_a_sheet_stays_a_link(tmp_path):
    sheet, link = tmp_path / "a.rig.toml", tmp_path / "b.rig.toml"
    sheet.write_text(GLIDER, encoding="utf-8")
    posix.symlink(sheet, link)
    edit_sheet(link, ("surface", "flap", "chord"), "50 mm")
    assert link.is_symlink()
    assert load_sheet(sheet).surface("flap").chord_mm == 50


@pytest.mark.parametrize(
    ("key", "value", "message"),
    [
        (("surface", "flap", "chord"), "50", "expected a length"),
        (("surface", "flap", "chrod"), "50 mm", "no such key"),
        (("surface", "flap", "chord", "x"), "50 mm", "surface.flap.chord is a value, expected a table"),
        (("surface", "flap"), "50 mm", "expected a table"),
        (("modes",), ["cruise"], "no such mode"),
        (
            ("surface", "ailron", "chord"),
            "50 mm",
            "no surface 'ailron' in the sheet, expected aileron, flap, elevator or rudder. Write aileron",
        ),
        (("surface", "spoiler", "chord"), "50 mm", "no surface 'spoiler'"),
    ],
)
def test_an_edit_that_would_be_wrong_is_refused_and_nothing_is_written(tmp_path, key, value, message):
    path = tmp_path / "a.rig.toml"
    path.write_text(GLIDER, encoding="utf-8")
    with pytest.raises(SheetError, match=message):
        edit_sheet(path, key, value)
    assert path.read_text(encoding="utf-8") == GLIDER


def test_a_new_surface_begins_with_its_kind():
    after = edited(GLIDER, "glider.rig.toml", ("surface", "brake", "kind"), "airbrake")
    after = edited(after, "glider.rig.toml", ("surface", "brake", "chord"), "40 mm")
    assert parse_sheet(after, "glider.rig.toml").surface("brake").chord_mm == 40


def test_a_folder_that_cant_be_written_to_is_told(tmp_path: Path):
    """A name too long for the new file beside the old one stands for any refusal by the system."""
    path = tmp_path / ("a" * 243 + ".rig.toml")
    path.write_text(GLIDER, encoding="utf-8")
    with pytest.raises(SheetError, match="was not written"):
        edit_sheet(path, ("surface", "flap", "chord"), "50 mm")
    assert path.read_text(encoding="utf-8") == GLIDER


@pytest.mark.parametrize(
    ("key", "value", "meant"),
    [
        ("surface.flap.chord", "48 mm", (("surface", "flap", "chord"), "48 mm")),
        ('surface."inner flap".sides', '["left"]', (("surface", "inner flap", "sides"), ["left"])),
        ("aircraft", '"2024"', (("aircraft",), "2024")),
        ("schema_version", "1", (("schema_version",), 1)),
    ],
)
def test_key_and_value_are_read_as_they_are_typed(key, value, meant):
    assert key_and_value(key, value) == meant


def test_what_is_no_key_is_refused():
    with pytest.raises(SheetError, match="expected names with dots between"):
        key_and_value("surface flap", "1")


@pytest.mark.parametrize("names", [8, 9])
def test_a_key_has_up_to_eight_names(names):
    """The longest of any sheet has six; what is longer is a slip of the keyboard."""
    key = ".".join(["a"] * names)
    if names <= 8:
        assert key_and_value(key, "1")[0] == ("a",) * names
    else:
        with pytest.raises(SheetError, match="found a key of 9 names, expected up to 8"):
            key_and_value(key, "1")
