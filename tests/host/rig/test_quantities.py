"""Figures with units. The inch is 25.4 mm exactly (international yard and pound agreement, 1959; from memory)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from hingeline.rig import quantities

THROWS = {
    "13 mm": (13, "mm", 13),
    "13mm": (13, "mm", 13),
    " 6.5 mm ": (6.5, "mm", 6.5),
    "0.5 in": (0.5, "in", 12.7),
    "3/4 in": (0.75, "in", 19.05),
    "1 1/2 in": (1.5, "in", 38.1),
    "1-1/8 in": (1.125, "in", 28.575),
    "15 deg": (15, "deg", None),
    "15°": (15, "deg", None),
    "90 deg": (90, "deg", None),
}
NO_THROWS = [
    "",
    "13",
    "mm",
    "13 cm",
    "13,5 mm",
    "0 mm",
    "-3 mm",
    "+3 mm",
    "91 deg",
    "501 mm",
    "20 in",
    "1/0 in",
    "1e2 mm",
]
NO_THROWS += [
    "nan mm",
    "inf mm",
    "3 mm up",
    "3 %",
    "3 mm 4 in",
    "٣ mm",
    "3 mm\n4",
    "9" * 5000 + " mm",
    13,
    1.5,
    True,
    None,
    [],
    {},
]


@pytest.mark.parametrize(("written", "meant"), THROWS.items())
def test_a_throw_is_read_as_it_is_written(written, meant):
    value, unit, value_mm = meant
    measure = TypeAdapter(quantities.Throw).validate_python(written)
    assert (measure.value, measure.unit) == (value, unit)
    assert measure.linear is (value_mm is not None)
    if value_mm is not None:
        assert measure.mm == pytest.approx(value_mm)


@pytest.mark.parametrize("written", NO_THROWS, ids=lambda written: repr(written)[:12])
def test_what_is_no_throw_is_refused_with_what_was_expected(written):
    with pytest.raises(ValidationError, match="a throw up to 90 deg or 500 mm with its unit"):
        TypeAdapter(quantities.Throw).validate_python(written)


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("3 mm down", -3),
        ("3 mm up", 3),
        ("15 deg left", 15),
        ("15° right", -15),
        ("0 mm", 0),
        ("1/2 in down", -0.5),
    ],
)
def test_a_position_has_the_sign_of_its_direction(written, value):
    assert TypeAdapter(quantities.Position).validate_python(written).value == value


@pytest.mark.parametrize("written", ["3 mm", "-3 mm", "-3 mm down", "3 mm sideways", "0", "91 deg up"])
def test_a_position_without_its_direction_is_refused(written):
    with pytest.raises(ValidationError, match="unit and direction"):
        TypeAdapter(quantities.Position).validate_python(written)


@pytest.mark.parametrize(
    ("form", "written", "instead"),
    [
        (quantities.Position, "60 deg dwn", ["60 deg down"]),
        (quantities.Position, "3 mm", ["3 mm up", "3 mm down"]),
        (quantities.Position, "3,5 left", ["3.5 deg left", "3.5 mm left"]),
        (quantities.Position, "0", ["0 deg", "0 mm"]),
        (quantities.Position, "3 mm sideways", ["NUMBER mm down"]),
        (quantities.Position, "-3 mm", ["NUMBER mm down"]),
        (quantities.AngleDeg, "-1,5 deg", ["-1.5 deg"]),
        (quantities.AngleDeg, "1.5 deg down", ["NUMBER deg"]),
        (quantities.AngleDeg, "5 mm", ["NUMBER deg"]),
        (quantities.LengthMm, 45, ["45 mm"]),
        (quantities.LengthMm, "45 mm.", ["45 mm"]),
        (quantities.Percent, "30", ["30 %"]),
        (quantities.Percent, "0,5 %", ["0.5 %"]),
        (quantities.Percent, "0", ["0 %"]),
        (quantities.Differential, "0,5", ["NUMBER %"]),
        (quantities.Differential, 0.5, ["NUMBER %"]),
        (quantities.Differential, "3/4", ["NUMBER %"]),
        (quantities.Tolerance, "0,5 deg", ["0.5 deg"]),
        (quantities.Throw, "120", ["120 mm"]),
        (quantities.Throw, "-3 mm", ["NUMBER mm"]),
        (quantities.Throw, "13 mm up", ["NUMBER mm"]),
        (quantities.Position, "3 mm high", ["NUMBER mm down"]),
        (quantities.Position, "3 mm dwn", ["3 mm down"]),
        (quantities.Throw, "12 degres", ["NUMBER deg"]),
        (quantities.Throw, "1/2 inchs", ["NUMBER in"]),
        (quantities.Throw, "91 deg", ["NUMBER deg"]),
        (quantities.Throw, "13 cm", ["NUMBER deg", "NUMBER mm"]),
    ],
)
def test_what_is_refused_is_told_as_it_may_be_meant(form, written, instead):
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(form).validate_python(written)
    assert caught.value.errors()[0]["ctx"]["instead"] == instead


@pytest.mark.parametrize(
    ("form", "written", "value"),
    [
        (quantities.LengthMm, "2 in", 50.8),
        (quantities.AngleDeg, "-1.5 deg", -1.5),
        (quantities.AngleDeg, "+12°", 12),
        (quantities.Percent, "0 %", 0),
        (quantities.Differential, "40%", 40),
    ],
)
def test_a_plain_figure_is_in_the_unit_of_its_name(form, written, value):
    assert TypeAdapter(form).validate_python(written) == pytest.approx(value)


@pytest.mark.parametrize(
    ("form", "written"),
    [
        (quantities.LengthMm, "0 mm"),
        (quantities.LengthMm, "5001 mm"),
        (quantities.AngleDeg, "-90.5 deg"),
        (quantities.Percent, "101 %"),
        (quantities.Differential, "100 %"),
        (quantities.Tolerance, "0 deg"),
        (quantities.Tolerance, "11 deg"),
        (quantities.Tolerance, "21 mm"),
    ],
)
def test_a_figure_out_of_its_range_is_refused(form, written):
    with pytest.raises(ValidationError):
        TypeAdapter(form).validate_python(written)


@given(
    st.decimals(min_value="0.1", max_value="90", places=1),
    st.sampled_from(["mm", "deg"]),
    st.sampled_from(["up", "down"]),
)
def test_a_position_is_read_again_from_how_it_is_shown(size, unit, direction):
    adapter = TypeAdapter(quantities.Position)
    position = adapter.validate_python(f"{size} {unit} {direction}")
    assert adapter.validate_python(str(position)) == position
