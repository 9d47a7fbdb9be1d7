"""The sheet as a form: every key of a file is a field, and what is typed changes its line and nothing else.

The files are read a second time by tomllib, the reader of Python's library, which the form does not use.
"""

import difflib
import json
from pathlib import Path

import pytest

try:
    import tomllib
except ModuleNotFoundError:  # Python 3.10
    import tomli as tomllib

from hypothesis import given
from hypothesis import strategies as st

from hingeline.errors import SheetError
from hingeline.form.changes import with_preset, with_surface, with_typed, without_surface
from hingeline.form.draft import Draft
from hingeline.form.fields import form_of
from hingeline.rig import parse_sheet

ROOT = Path(__file__).parents[3]
SHEETS = sorted([*(ROOT / "host/hingeline/rig/templates").glob("*.toml"), ROOT / "tests/data/complete.rig.toml"])
TEXT = """\
# made in the shed
schema_version = 1
aircraft = "Reedling"   # mine
modes = ["low", "high"]

[surface.flap]
chord = "48 mm"         # at the root
throws.low = { up = "3 mm", down = "12 mm" }  # from the manual
throws.high = { up = "5 mm", down = "20 mm" }

# the tail
[surface.rudder]
chord = "60 mm"
throws.high = { left = "20 mm", right = "20 mm" }

[preset.high.crow]
flap = "40 mm down"
"""


def name(*key) -> str:
    """What the browser calls the field of a key."""
    return json.dumps(list(key), ensure_ascii=False)


def leaves(table, key=()):
    """Yield key and content of all that is no table."""
    for part, inner in table.items():
        if isinstance(inner, dict):
            yield from leaves(inner, (*key, part))
        else:
            yield (*key, part), inner


def changed_lines(old: str, new: str) -> list[str]:
    """The lines that two texts do not share, `-` or `+` before each."""
    lines = difflib.unified_diff(old.split("\n"), new.split("\n"), lineterm="", n=0)
    return [line for line in lines if line[:1] in "+-" and line[:3] not in ("+++", "---")]


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_every_key_of_a_file_is_a_field_that_shows_what_was_typed(path):
    text = path.read_text(encoding="utf-8")
    form = form_of(text)
    shown = {field.key: field.value for field in form.fields()}
    for key, content in leaves(tomllib.loads(text)):
        if key == ("modes",):
            assert [field.value for field in form.modes] == [*content, ""]
        elif key != ("schema_version",):
            assert shown[key] == (", ".join(content) if isinstance(content, list) else content), key


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_a_form_that_is_sent_back_as_it_is_changes_no_byte(path):
    text = path.read_text(encoding="utf-8")
    form = form_of(text)
    assert with_typed(text, {field.name: field.value for field in (*form.fields(), *form.names())}) == text


FIELDS = [(path, field) for path in SHEETS for field in form_of(path.read_text(encoding="utf-8")).fields()]


@given(st.sampled_from(FIELDS), st.sampled_from(["7 mm", '3" "', "0,5 mm", "[surface.x]", "# no", "Ü\\n'\"'", ""]))
def test_one_field_changes_one_key_and_nothing_beside_it(which, typed):
    path, field = which
    text = path.read_text(encoding="utf-8")
    before, after = tomllib.loads(text), tomllib.loads(with_typed(text, {field.name: typed}))
    old, new = dict(leaves(before)), dict(leaves(after))
    assert new.pop(field.key, "") == typed
    old.pop(field.key, None)
    assert new == old


def test_a_figure_changes_its_own_line_and_the_comments_stay():
    typed = {name("surface", "flap", "throws", "low", "down"): " 14  mm "}
    assert changed_lines(TEXT, with_typed(TEXT, typed)) == [
        '-throws.low = { up = "3 mm", down = "12 mm" }  # from the manual',
        '+throws.low = { up = "3 mm", down = "14 mm" }  # from the manual',
    ]


def test_a_throw_in_a_mode_without_any_is_a_line_as_people_write_it():
    typed = {name("surface", "rudder", "throws", "low", "left"): "9 mm"}
    assert changed_lines(TEXT, with_typed(TEXT, typed)) == ['+throws.low = {left = "9 mm"}']


def test_an_emptied_field_takes_its_key_out_and_an_emptied_table_with_it():
    typed = {name("preset", "high", "crow", "flap"): ""}
    assert tomllib.loads(with_typed(TEXT, typed)).keys() == {"schema_version", "aircraft", "modes", "surface"}


def test_a_new_name_of_a_mode_goes_to_every_place_and_two_may_change_theirs():
    typed = {name("modes", 0): "high", name("modes", 1): "low"}
    sheet = tomllib.loads(with_typed(TEXT, typed))
    assert sheet["modes"] == ["high", "low"]
    assert sheet["surface"]["flap"]["throws"]["high"]["down"] == "12 mm"
    assert sheet["surface"]["flap"]["throws"]["low"]["down"] == "20 mm"
    assert sheet["preset"] == {"low": {"crow": {"flap": "40 mm down"}}}


def test_an_emptied_mode_goes_with_its_throws_and_another_comes_last():
    sheet = tomllib.loads(with_typed(TEXT, {name("modes", 0): "", name("modes", 2): "slow flight"}))
    assert sheet["modes"] == ["high", "slow flight"]
    assert list(sheet["surface"]["flap"]["throws"]) == ["high"]


def test_a_new_name_of_a_surface_keeps_its_place_its_kind_and_its_presets():
    text = with_typed(TEXT, {name("surface", "flap"): "inner flap"})
    sheet = tomllib.loads(text)
    assert list(sheet["surface"]) == ["inner flap", "rudder"]
    assert sheet["surface"]["inner flap"]["kind"] == "flap"
    assert sheet["preset"]["high"]["crow"] == {"inner flap": "40 mm down"}
    assert "# at the root" in text
    assert parse_sheet(text, "sheet").surfaces.keys() == {"inner flap", "rudder"}


@pytest.mark.parametrize(
    "change",
    [
        lambda: with_typed(TEXT, {name("surface", "flap"): "rudder"}),
        lambda: with_typed(TEXT, {name("modes", 0): "high"}),
        lambda: with_surface(TEXT, " flap ", "flap"),
        lambda: with_surface(TEXT, "  ", "flap"),
        lambda: with_preset(TEXT, "high", "crow"),
    ],
)
def test_a_name_twice_or_none_is_refused(change):
    with pytest.raises(SheetError, match="name"):
        change()


def test_surfaces_and_presets_come_and_go():
    text = with_preset(with_surface(with_surface(TEXT, "spoiler", "spoiler"), "slat", "flap"), "low", "take-off")
    sheet = tomllib.loads(text)
    assert sheet["surface"]["spoiler"] == {}
    assert sheet["surface"]["slat"] == {"kind": "flap"}
    assert sheet["preset"]["low"] == {"take-off": {}}
    left = tomllib.loads(without_surface(text, "flap"))
    assert list(left["surface"]) == ["rudder", "spoiler", "slat"]
    assert "high" not in left["preset"]


def test_a_mistake_is_known_by_its_field_and_an_unknown_key_is_kept_and_no_obstacle():
    text = TEXT.replace('chord = "48 mm"', 'chord = "48"\ncolour = "red"')
    draft = Draft(text, text)
    assert [mistake.key for mistake in draft.unknown] == ["surface.flap.colour"]
    assert [mistake.key for mistake in draft.mistakes] == ["surface.flap.chord"]
    mended = draft.after({name("surface", "flap", "chord"): "48 mm"})
    assert not mended.mistakes
    assert 'colour = "red"' in mended.text


def test_a_button_does_nothing_to_what_is_no_part_of_the_sheet():
    draft = Draft(TEXT, TEXT)
    for button in ('remove ["aircraft"]', "remove x", "remove", "nonsense"):
        assert draft.after({"do": button}).text == TEXT


@pytest.mark.parametrize("text", ["surface = 3\nmodes = 4\npreset = []", "[surface]\nflap = 1", "", "tolerances = 1"])
def test_a_sheet_that_is_all_wrong_is_still_a_form_with_its_mistakes(text):
    assert list(form_of(text).fields())
    assert Draft(text, text).mistakes
