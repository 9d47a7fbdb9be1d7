"""A sheet is data from others: whatever is in it, it is a sheet or one kind of error, printable as it is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import tomlkit
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from hingeline.cli import cli
from hingeline.errors import SheetError
from hingeline.rig import load_sheet, parse_sheet

COMPLETE = (Path(__file__).parents[2] / "data" / "complete.rig.toml").read_text(encoding="utf-8")
SMALL = """
schema_version = 1
aircraft = 'aircraft'
modes = ['mode']
surface.'surface' = { kind = "flap", throws.'mode' = { up = "5 deg" } }
preset.'mode'.'preset' = { 'surface' = "1 deg up" }
"""
NAMES = ["\x1b[31mx", "\u202eptis", "a\nb", "\x00", " x", "x ", "", "y" * 41, "\u00a0x"]


def refusal(text: str) -> SheetError:
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "try.rig.toml")
    assert str(caught.value).replace("\n", "").isprintable()
    return caught.value


@pytest.mark.parametrize("place", ["aircraft", "mode", "surface", "preset"])
@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_a_hostile_name_is_refused_and_shown_inert(name, place):
    assert parse_sheet(SMALL, "try.rig.toml").targets()
    quoted = tomlkit.string(name).as_string()
    error = refusal(SMALL.replace(f"'{place}'", quoted))
    assert "printable characters" in str(error)


@pytest.mark.parametrize("name", ["../../etc/x", "<b>x</b>", "a;rm -rf", "Élan Ⅱ", "模型"])
def test_a_name_that_is_merely_odd_is_kept_as_it_is(name):
    assert parse_sheet(SMALL.replace("'aircraft'", f"'{name}'"), "try.rig.toml").aircraft == name


@pytest.mark.parametrize("name", ["[red]x[/]", "<b>x</b>", "{{ 7 * 7 }}", "$(id)", "../../x", "%s %d"])
def test_a_command_prints_an_odd_name_letter_by_letter(name, tmp_path):
    path = tmp_path / "odd.rig.toml"
    path.write_text(re.sub("'(aircraft|mode|surface|preset)'", f"'{name}'", SMALL), encoding="utf-8")
    done = CliRunner().invoke(cli, ["rig", "show", str(path)], standalone_mode=False, catch_exceptions=False)
    assert done.output.count(name) >= 4
    assert done.output.replace("\n", "").isprintable()


def test_a_hostile_file_name_is_shown_inert(tmp_path):
    with pytest.raises(SheetError) as caught:
        load_sheet(tmp_path / "\x1b[31m.rig.toml")
    assert str(caught.value).isprintable()


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a = 1\na = 2", 2),
        ("[surface", 1),
        ("x = 1\n[x]", 2),
        ('a = "\x1b"', 1),
        ("\na = 1 2", 2),
        ("a = " + "[" * 3000, 1),
        ("a = " + "9" * 5000, 1),
    ],
    ids=range(7),
)
def test_what_is_no_toml_is_told_with_its_line(text, line):
    (mistake,) = refusal(text).mistakes
    assert (mistake.line, mistake.expected) == (line, "TOML")


MISSING = (
    "a quotation mark is missing",
    "Put one at each end of every text in this line, figures with a unit too",
)
CURLY = ("curly quotation marks", 'Write " for each of them')


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ('aircraft = "Moss Lantern', MISSING),
        ("aircraft = 'Moss Lantern # mine", MISSING),
        ('low = { up = "20 mm, down = "24 mm" }', MISSING),
        ('low = { up = 20 mm", down = "24 mm" }', MISSING),
        ('modes = ["low, "high"]', MISSING),
        ("aircraft = “Moss Lantern”", CURLY),
        ("“aircraft” = 1", CURLY),
        ('aircraft = "Moss Lantern”', CURLY),
        ("aircraft = ‘Moss Lantern’", CURLY),
        ("aircraft = 20 mm # don't", MISSING),
        ("aircraft = Moss Lantern", MISSING),
        ("low = { up = -1.5 deg }", MISSING),
        ("up = 12°", MISSING),
        ("up = 1 1/2 in", MISSING),
        ("up = 12,5 mm", MISSING),
        ("aileron = { differential = 30 % }", MISSING),
        ("modes = [low, high]", MISSING),
        ('modes = ["low", high]', MISSING),
        ("[surface.flap]]", ("Unexpected character: ']'", "Fix the TOML in this line")),
        ('x = { a = "1 mm", b "2 mm" }', ("Unexpected character: '\"'", "Fix the TOML in this line")),
        ("x = { a = 1, b }", ("Unexpected character: '}'", "Fix the TOML in this line")),
        ("up = True", ("Unexpected character: 'T'", "Fix the TOML in this line")),
        (
            'low = { up = "20 mm" down = "24 mm" }',
            ("Unexpected character: 'd'", "Fix the TOML in this line"),
        ),
        ('aircraft = "\x07"', ("a character that can't be seen", "Write the text in this line again")),
    ],
)
@pytest.mark.parametrize("end", ["", "\n", '\nmodes = ["low"]\n'])
def test_a_quotation_mark_that_is_missing_or_curly_is_told(line, message, end):
    (mistake,) = refusal(f"format = 1\n{line}{end}").mistakes
    assert (mistake.line, mistake.content, mistake.cure) == (2, *message)


@pytest.mark.parametrize("mark", ["\u2028", "\x85", "\x0c", "\r"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_line_ends_where_toml_ends_it(mark, end):
    """Also behind a comment that was pasted with another program's line ends, in a long sheet."""
    mistake, *_ = refusal(end.join(["schema_version = 1", f"# {3 * mark}", *(50 * ["#"]), "x = Moss"])).mistakes
    assert mistake.line == (2 if mark in "\r\x0c" else 53)


@pytest.mark.parametrize("line", ["modes = {}", "schema_version = {}", "modes = [[1, {}]]"])
def test_a_number_that_cant_be_written_is_told(line):
    (mistake,) = refusal(f'aircraft = "Huge"\n{line.format("0x" + 5000 * "F")}').mistakes
    assert (mistake.line, mistake.content) == (2, "a number beyond 64 bits")


@pytest.mark.parametrize(
    ("content", "message"),
    [(b'schema_version = 1\naircraft = "\xff"\n', "other.rig.toml:2: not UTF-8"), (None, "it is not there")],
)
def test_a_file_that_cant_be_read_is_told(tmp_path, content, message):
    path = tmp_path / "other.rig.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(SheetError, match=message):
        load_sheet(path)


def test_the_mark_and_line_ends_of_a_windows_editor_are_accepted(tmp_path):
    path = tmp_path / "windows.rig.toml"
    path.write_bytes(b"\xef\xbb\xbf" + COMPLETE.replace("\n", "\r\n").encode())
    assert load_sheet(path).aircraft == "Everykey"


SCRAPS = sorted({*re.findall(r"\S+|\n", COMPLETE), "[", "]", '"', "=", "{", "}", "\x00", "'''", '"""', "é", "1", "\n"})
VALUES = st.recursive(
    st.booleans() | st.integers(-(2**70), 2**70) | st.floats() | st.text(max_size=20) | st.dates() | st.times(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=4,
)


@given(st.lists(st.sampled_from(SCRAPS), max_size=40).map(" ".join) | st.text(max_size=60))
def test_no_scraps_or_text_raise_anything_but_a_sheet_error(text):
    refusal(text)


@given(st.sampled_from(re.findall(r"'\w+'|\"[^\"]+\"|\b1\b", SMALL)), VALUES)
def test_no_value_raises_anything_but_a_sheet_error(replaced, value):
    text = SMALL.replace(replaced, tomlkit.item(value).as_string())
    try:
        parse_sheet(text, "try.rig.toml")
    except SheetError:
        assert refusal(text).mistakes


def test_a_name_that_stands_twice_in_braces_is_told_of_a_sheet_of_one_line():
    (mistake,) = refusal("aircraft = { a = 1, a = 2 }").mistakes
    assert (mistake.line, mistake.content) == (1, 'Key "a" already exists')
