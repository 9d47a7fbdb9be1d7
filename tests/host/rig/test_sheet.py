"""From a sheet to its targets. Travel is from the published table: chord 50 mm, worked from its three formulas."""

from __future__ import annotations

import dataclasses

import pytest

from hingeline.errors import SheetError
from hingeline.rig import parse_sheet

TRAVEL_50_MM = {
    "ruler": {10: 8.716, 20: 17.365, 30: 25.882, 45: 38.268, 60: 50.000},
    "height": {10: 8.682, 20: 17.101, 30: 25.000, 45: 35.355, 60: 43.301},
    "arc": {10: 8.727, 20: 17.453, 30: 26.180, 45: 39.270, 60: 52.360},
}
TABLE = [(convention, deg, mm) for convention, row in TRAVEL_50_MM.items() for deg, mm in row.items()]


def sheet(surfaces: str, top: str = ""):
    return parse_sheet(
        f'schema_version = 1\naircraft = "Try"\nmodes = ["low", "high"]\n{top}\n{surfaces}', "try.rig.toml"
    )


def flap(low: str, top: str = "", more: str = ""):
    return sheet(f'[surface.flap]\nchord = "50 mm"\nthrows.low = {low}\nthrows.high = {{ up = "1 deg" }}\n{more}', top)


@pytest.mark.parametrize("length", ["0 mm", "-3 mm", "nan mm", "inf mm"])
@pytest.mark.parametrize("key", ["horn", "arm", "rod"])
def test_the_lengths_of_a_linkage_are_above_0(key, length):
    """The advice divides by them, and doesn't look again."""
    lengths = {"horn": "12 mm", "arm": "10 mm", "rod": "80 mm", key: length}
    table = ", ".join(f'{name} = "{value}"' for name, value in lengths.items())
    with pytest.raises(SheetError, match=f"linkage.{key}"):
        flap('{ up = "5 deg" }', more=f'linkage = {{ thread = "M2", {table}, horn_side = "top" }}')


@pytest.mark.parametrize(("convention", "deg", "mm"), TABLE)
def test_degrees_become_mm_by_the_convention(convention, deg, mm):
    down = flap(f'{{ down = "{deg} deg" }}', f'convention = "{convention}"').targets(mode="low")[0]
    assert (down.deflection_deg, down.convention, down.chord_mm, down.unit) == (-deg, convention, 50, "deg")
    assert down.travel_mm == pytest.approx(-mm, abs=0.0005)


@pytest.mark.parametrize(("convention", "deg", "mm"), TABLE)
def test_mm_become_degrees_by_the_convention(convention, deg, mm):
    up = flap(f'{{ up = "{mm} mm" }}', more=f'convention = "{convention}"').targets(mode="low")[0]
    assert (up.travel_mm, up.unit) == (mm, "mm")
    assert up.deflection_deg == pytest.approx(deg, abs=0.002)


def test_inches_become_mm_at_the_chord():
    up = flap('{ up = "1/2 in" }').targets(mode="low")[0]
    assert (up.travel_mm, up.unit) == (12.7, "in")


def test_targets_go_by_mode_then_surface_then_command_then_side():
    both = sheet(
        """
        [surface.flap]
        throws.low = { down = "30 deg" }
        [surface.elevator]
        throws.high = { up = "9 deg", down = "8 deg" }
        [preset.high.landing]
        flap = "40 deg down"
        elevator = "2 deg down"
        """
    )
    assert [(t.mode, t.surface, t.command, t.side, t.deflection_deg) for t in both.targets()] == [
        ("low", "flap", "down", "left", -30),
        ("low", "flap", "down", "right", -30),
        ("high", "elevator", "up", "middle", 9),
        ("high", "elevator", "down", "middle", -8),
        ("high", "flap", "landing", "left", -40),
        ("high", "flap", "landing", "right", -40),
        ("high", "elevator", "landing", "middle", -2),
    ]
    assert both.targets(surface="elevator", mode="high") == tuple(t for t in both.targets() if t.surface == "elevator")
    assert both.targets()[0].travel_mm is None


def test_a_surface_that_is_two_things_names_them_in_its_commands():
    wing = sheet(
        """
        [surface.elevon]
        as_elevator.low = { up = "8 deg", down = "6 deg" }
        as_aileron.high = { up = "11 deg" }
        """
    )
    left = [(t.command, t.deflection_deg) for t in wing.targets() if t.side == "left"]
    assert left == [("elevator up", 8), ("elevator down", -6), ("aileron up", 11)]


def test_a_rudder_goes_left_positive():
    rudder = sheet(
        '[surface.rudder]\nthrows.low = { left = "20 deg", right = "25 deg" }\nthrows.high = { left = "1 deg" }'
    )
    assert [(t.command, t.deflection_deg) for t in rudder.targets(mode="low")] == [
        ("left", 20),
        ("right", -25),
    ]
    assert rudder.surface("rudder").dihedral_deg == 90


def test_differential_is_of_the_figure_as_given():
    """20 mm less 40 % is 12 mm, in mm and not in degrees."""
    up, _, down, _ = flap('{ up = "20 mm", differential = "40 %" }').targets(mode="low")
    assert (up.travel_mm, down.travel_mm) == (20, -12)


def test_a_tolerance_comes_from_surface_then_sheet_then_profile():
    """Profile figures are common practice, no source."""
    top = '[tolerances]\nprofile = "glider"\nmatch = "0.4 deg"\n'
    own = '[surface.flap.tolerances]\nthrow = "1 mm"'
    target = flap('{ up = "10 deg" }', more=f"{own}\n{top}").targets()[0]
    # 1 mm along the arc at 50 mm is 1/50 rad
    assert (target.tolerance_deg, target.tolerance_mm) == (pytest.approx(1.14592, abs=5e-6), 1)
    assert (target.match_tolerance_deg, target.match_tolerance_mm) == (0.4, None)
    neutral = flap('{ up = "10 deg" }', more=top).neutrals("flap")[0]
    assert (neutral.tolerance_deg, neutral.tolerance_mm) == (0.3, None)


def test_the_profile_is_sport_where_none_is_named():
    target = flap('{ up = "10 deg" }').targets()[0]
    assert (target.tolerance_deg, target.match_tolerance_deg) == (2, 2)


@pytest.mark.parametrize(
    ("key", "reference", "deflection_deg", "travel_mm"),
    [
        ('neutral.faired = "8.716 mm up"', "faired", 10, 8.716),
        ('neutral.faired = "10 deg down"', "faired", -10, -8.716),
        ('neutral.level = "-1.5 deg"', "level", -1.5, None),
        ("", None, None, None),
    ],
)
def test_a_neutral_has_a_place_of_its_own_or_only_a_match(key, reference, deflection_deg, travel_mm):
    left, right = flap('{ up = "10 deg" }', more=key).neutrals()
    assert right == dataclasses.replace(left, side="right")
    assert left.reference == reference
    assert left.deflection_deg == pytest.approx(deflection_deg, abs=0.001)
    assert left.travel_mm == pytest.approx(travel_mm, abs=0.0005)


@pytest.mark.parametrize(
    "ask",
    [
        lambda sheet: sheet.surface("flpa"),
        lambda sheet: sheet.targets("flpa"),
        lambda sheet: sheet.neutrals("flpa"),
        lambda sheet: sheet.targets(mode="hihg"),
    ],
)
def test_an_unknown_name_is_answered_with_the_nearest_known_one(ask):
    with pytest.raises(SheetError, match=r"no (surface 'flpa'|mode 'hihg') in the sheet.* Write (flap|high)\."):
        ask(flap('{ up = "10 deg" }'))


def test_a_linkage_is_square_where_no_lean_is_given():
    sheet = flap('{ up = "5 deg" }', more='linkage = { thread = "M2", horn = "12 mm" }')
    linkage = sheet.surface("flap").linkage
    assert (linkage.arm_lean_deg, linkage.horn_lean_deg) == (0.0, 0.0)
