"""Every key missing, of a wrong type, out of range or in contradiction: file, line, key and cure, all at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import get_args

import pytest
import tomlkit
from pydantic import BaseModel

from hingeline.errors import SheetError
from hingeline.rig import parse_sheet
from hingeline.rig.kinds import KINDS
from hingeline.rig.sheet import Sheet
from hingeline.rig.toml_mistakes import dotted, one_of

COMPLETE = (Path(__file__).parents[2] / "data" / "complete.rig.toml").read_text(encoding="utf-8")
MARK = 98765.25
"""A number that is right for no key of a sheet."""


def leaves(value, key=()) -> Iterator[tuple]:
    for part, inner in value.items():
        if isinstance(inner, Mapping):
            yield from leaves(inner, (*key, part))
        else:
            yield (*key, part)


def tables(value, key=()) -> Iterator[tuple]:
    for part, inner in value.items():
        if isinstance(inner, Mapping):
            yield (*key, part)
            yield from tables(inner, (*key, part))


LEAVES = list(leaves(tomlkit.parse(COMPLETE)))
TABLES = list(tables(tomlkit.parse(COMPLETE)))


def changed(key, value=None) -> str:
    """The complete sheet with one key changed, or taken out where there is no value."""
    document = tomlkit.parse(COMPLETE)
    table = document
    for part in key[:-1]:
        table = table[part]
    if value is None:
        del table[key[-1]]
    else:
        table[key[-1]] = value
    return document.as_string()


def mistakes(text: str):
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "try.rig.toml")
    assert caught.value.exit_status == 2
    for mistake in caught.value.mistakes:
        assert f"try.rig.toml:{mistake.line}:" in caught.value.message
        assert mistake.content
        assert mistake.cure
    return caught.value.mistakes


def models(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    yield model
    for field in model.model_fields.values():
        stack = [field.annotation]
        while stack:
            annotation = stack.pop()
            stack += get_args(annotation)
            if isinstance(annotation, type) and issubclass(annotation, BaseModel):
                yield from models(annotation)


def test_the_complete_sheet_is_right_and_has_every_key_of_the_models():
    parse_sheet(COMPLETE, "complete.rig.toml")
    used = {part for key in (*LEAVES, *TABLES) for part in key}
    for model in models(Sheet):
        assert {field.alias or own for own, field in model.model_fields.items()} <= used


@pytest.mark.parametrize("key", LEAVES, ids=dotted)
def test_a_wrong_type_is_told_on_its_line(key):
    text = changed(key, MARK)
    line = 1 + text[: text.index(str(MARK))].count("\n")
    (mistake,) = mistakes(text)
    assert (mistake.line, mistake.key) == (line, dotted(key))
    assert str(MARK) in mistake.content
    assert mistake.expected


@pytest.mark.parametrize("key", TABLES, ids=dotted)
def test_a_value_in_place_of_a_table_is_told(key):
    by_key = {mistake.key: mistake for mistake in mistakes(changed(key, MARK))}
    assert by_key[dotted(key)].expected == "a table"


@pytest.mark.parametrize("value", ["99999 mm", "-99999 deg", "", "\x1b[31m", "nan mm", "1e999 mm", "no such word"])
def test_text_that_no_key_accepts_is_told_of_every_key_at_once(value):
    document = tomlkit.parse(COMPLETE)
    keys = [key for key in LEAVES if key != ("aircraft",)]
    for key in keys:
        table = document
        for part in key[:-1]:
            table = table[part]
        table[key[-1]] = value
    all_mistakes = mistakes(document.as_string())
    assert {mistake.key for mistake in all_mistakes} == {dotted(key) for key in keys}
    assert [mistake.line for mistake in all_mistakes] == sorted(mistake.line for mistake in all_mistakes)
    assert "\x1b" not in "".join(mistake.content for mistake in all_mistakes)


NEEDED = {
    "schema_version": ("schema_version",),
    "aircraft": ("aircraft",),
    "modes": ("modes",),
    "surface": ("surface",),
    'surface."inner flap".kind': ("surface", "inner flap", "kind"),
    'surface."inner flap".chord': ("surface", "inner flap", "chord"),
    'surface."inner flap".linkage.thread': ("surface", "inner flap", "linkage", "thread"),
    'surface."inner flap".linkage.horn': ("surface", "inner flap", "linkage", "horn"),
    'surface."inner flap".linkage': ("surface", "inner flap", "linkage", "arm"),
    'surface."inner flap".strip.span': ("surface", "inner flap", "strip", "span"),
    'surface."inner flap".strip.wing_chord': ("surface", "inner flap", "strip", "wing_chord"),
    'surface."inner flap".strip.arm': ("surface", "inner flap", "strip", "arm"),
}


def test_every_key_that_the_models_need_is_among_them():
    fields = [(field.alias or own, field) for model in models(Sheet) for own, field in model.model_fields.items()]
    needed = {key for key, field in fields if field.is_required()}
    assert needed - {"sides", "dihedral"} <= {key[-1] for key in NEEDED.values()}


@pytest.mark.parametrize(("name", "key"), NEEDED.items())
def test_a_needed_key_that_is_missing_is_told_with_an_example(name, key):
    by_key = {mistake.key: mistake for mistake in mistakes(changed(key))}
    assert "missing" in by_key[name].content
    assert by_key[name].cure.startswith("Add ")


def test_a_misspelled_key_is_answered_with_the_right_one():
    (mistake,) = mistakes(COMPLETE.replace('station = "12.5', 'staton = "12.5'))
    assert (mistake.line, mistake.key, mistake.cure) == (23, 'surface."inner flap".staton', "Write station")
    assert "chord, station" in mistake.expected


def test_an_unknown_key_unlike_any_other_is_to_be_taken_out():
    (mistake,) = mistakes("colour = 1\n" + COMPLETE)
    assert (mistake.line, mistake.key, mistake.cure) == (1, "colour", "Take it out")


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ('hinge = "botom"', 'hinge = "bottom"'),
        ('kind = "flpa"', 'kind = "flap"'),
        ('profile = "glidr"', 'profile = "glider"'),
    ],
)
def test_a_misspelled_word_is_answered_with_the_right_one(wrong, right):
    (mistake,) = mistakes(COMPLETE.replace(right, wrong, 1))
    assert mistake.cure == f"Write {right}"


@pytest.mark.parametrize(
    ("written", "instead"),
    [
        ('"20,4 mm"', '"20.4 mm"'),
        ('"24"', '"24 deg" or "24 mm"'),
        ("5", '"5 deg" or "5 mm"'),
        ("5.25", '"5.25 deg" or "5.25 mm"'),
        ('"3/4 inch"', '"3/4 in"'),
        ('"15 Degrees"', '"15 deg"'),
    ],
)
def test_a_figure_that_is_written_otherwise_comes_back_in_the_cure(written, instead):
    (mistake,) = mistakes(COMPLETE.replace('up = "6 mm"', f"up = {written}", 1))
    assert mistake.cure == f"Write up = {instead}"
    for figure in instead.split(" or "):
        parse_sheet(COMPLETE.replace('up = "6 mm"', f"up = {figure}", 1), "try.rig.toml")


@pytest.mark.parametrize(
    ("written", "pattern"),
    [
        ('"13 cm"', '"NUMBER deg" or "NUMBER mm"'),
        ('"5 ft"', '"NUMBER deg" or "NUMBER mm"'),
        ('"91 deg"', '"NUMBER deg"'),
        ('"12 degres"', '"NUMBER deg"'),
        ('"1,000 mm"', '"NUMBER deg" or "NUMBER mm"'),
        ('"3 mm 4 in"', '"NUMBER deg" or "NUMBER mm"'),
        ('"mm"', '"NUMBER deg" or "NUMBER mm"'),
        ('"-3 mm"', '"NUMBER mm"'),
        ('"3 mm down"', '"NUMBER mm"'),
        ("true", '"NUMBER deg" or "NUMBER mm"'),
    ],
)
def test_a_cure_has_no_figure_where_none_can_be_told(written, pattern):
    """A figure of another unit or direction would be false, and one that fits would be pasted."""
    (mistake,) = mistakes(COMPLETE.replace('up = "6 mm"', f"up = {written}", 1))
    assert mistake.cure == f"Write up = {pattern}"
    for figure in pattern.split(" or "):
        with pytest.raises(SheetError):
            parse_sheet(COMPLETE.replace('up = "6 mm"', f"up = {figure}", 1), "try.rig.toml")


@pytest.mark.parametrize(
    ("right", "wrong", "cure"),
    [
        ('horn_side = "top"', 'horn_side = "left"', 'horn_side = "top" or "bottom"'),
        ('thread = "M2"', 'thread = "M5"', 'thread = "M2", "M2.5", "M3", "2-56" or "4-40"'),
        ('sides = ["left", "right"]', 'sides = ["left", "port"]', '"left", "right" or "middle"'),
    ],
)
def test_a_word_like_no_known_one_is_answered_with_all_of_them(right, wrong, cure):
    (mistake,) = mistakes(COMPLETE.replace(right, wrong, 1))
    assert mistake.cure == f"Write {cure}"


@pytest.mark.parametrize(
    ("name", "kinds"),
    [("flaps", ["flap"]), ("Aileron", ["aileron"]), ("left aileron", ["aileron"]), ("quer", list(KINDS))],
)
def test_a_kind_that_is_missing_is_guessed_from_the_surface_s_name_or_all_are_named(name, kinds):
    (mistake,) = mistakes(COMPLETE.replace("[surface.aileron]", f'[surface."{name}"]', 1))
    assert mistake.cure == f"Add kind = {one_of([repr(kind) for kind in kinds])}".replace("'", '"')


def test_a_scenario_is_told_as_one_alone():
    with pytest.raises(SheetError) as caught:
        parse_sheet('seed = 1\n[[boards]]\nname = "one"\n[[surfaces]]\nname = "flap"\n', "bench.toml")
    assert caught.value.message == "bench.toml is a scenario of the virtual bench, not a rigging sheet"
    assert caught.value.cure == "Give a rigging sheet, or run `hingeline virtual bench.toml`"
