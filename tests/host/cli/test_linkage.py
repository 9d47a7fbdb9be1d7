"""What a linkage gives, told before anything is measured."""

import json
import math

import pytest
from click.testing import CliRunner
from tests.host.advice.conftest import CircleLinkage

from hingeline.checks.linkage import described_chain
from hingeline.cli.commands.linkage import linkage
from hingeline.rig import load_sheet

SHEET = """
schema_version = 1
aircraft = "Plumb Line"
modes = ["normal"]
[surface.aileron]
chord = "40 mm"
throws.normal = { up = "20 deg", down = "20 deg" }
"""
CHAIN = """
[surface.aileron.linkage]
thread = "M2"
arm = "10 mm"
horn = "12 mm"
rod = "80 mm"
horn_side = "bottom"
"""


@pytest.fixture
def rig(tmp_path):
    """A sheet with its linkage."""
    path = tmp_path / "plumb.rig.toml"
    path.write_text(SHEET + CHAIN)
    return str(path)


def test_throws_are_those_of_the_table(rig):
    outcome = CliRunner().invoke(linkage, [rig, "aileron", "--json"], standalone_mode=False)
    told = json.loads(outcome.output)
    # Arm 10, horn 12, rod 80, square: ±45° of the servo give 36.1185/-36.0897° (check value, reproduced by
    # intersecting circles); which of them is up depends on the side of the horn.
    throws = sorted((told["throws"]["up_deg"], -told["throws"]["down_deg"]))
    assert [round(value, 4) for value in throws] == [36.0897, 36.1185]


def test_the_pair_that_uses_most_of_the_travel_comes_first(rig):
    holes = ["--arm-hole", "6", "--arm-hole", "10", "--horn-hole", "12", "--horn-hole", "20"]
    outcome = CliRunner().invoke(linkage, [rig, "aileron", *holes, "--json"], standalone_mode=False)
    found = [(one["arm_mm"], one["horn_mm"]) for one in json.loads(outcome.output)["holes"]]
    # long-rod limit, servo = asin(horn/arm sin 20°): 43.2° of 45° for 6/12 and 10/20, 24.2° for 10/12; 6/20 binds
    assert found == [(10.0, 20.0), (6.0, 12.0), (10.0, 12.0)]


def test_no_pair_reaches(rig):
    outcome = CliRunner().invoke(linkage, [rig, "aileron", "--arm-hole", "3"], standalone_mode=False)
    assert "a longer arm or a shorter horn" in outcome.output


def test_a_hole_lies_beside_its_axis(rig):
    outcome = CliRunner().invoke(linkage, [rig, "aileron", "--horn-hole", "0"])
    assert outcome.exit_code == 2
    assert "0.0 is not in the range x>0" in outcome.output


def test_a_linkage_that_is_not_described(tmp_path):
    path = tmp_path / "plumb.rig.toml"
    path.write_text(SHEET)
    outcome = CliRunner().invoke(linkage, [str(path), "aileron"], standalone_mode=False)
    assert outcome.return_value == 2
    assert "surface.aileron.linkage" in outcome.output


FLAP = """
schema_version = 1
aircraft = "Plumb Line"
modes = ["normal"]
[surface.flap]
throws.normal = {{ down = "85 deg" }}
[surface.flap.linkage]
thread = "M2"
arm = "14 mm"
horn = "12 mm"
rod = "80 mm"
horn_side = "bottom"
{leans}
"""


@pytest.mark.parametrize(
    ("leans", "warned"),
    [
        pytest.param("", True, id="square: the horn comes within 5° of the rod's line"),
        pytest.param('arm_lean = "38 deg"\nhorn_lean = "42 deg"', False, id="square to the rod half-way"),
    ],
)
def test_a_flap_of_85_degrees_is_warned_of_dead_centre(tmp_path, leans, warned):
    path = tmp_path / "flap.rig.toml"
    path.write_text(FLAP.format(leans=leans))
    outcome = CliRunner().invoke(linkage, [str(path), "flap", "--servo-travel", "80"], standalone_mode=False)
    assert ("dead centre" in outcome.output or "binds" in outcome.output) is warned, outcome.output


def test_leaning_levers_are_those_of_the_circles(tmp_path):
    """Arm 5° and horn hole 2 mm aft, by intersecting circles."""
    path = tmp_path / "lean.rig.toml"
    lean_deg = math.degrees(math.atan2(2, 12))
    horn_mm = math.hypot(2, 12)
    chain = CHAIN.replace('"12 mm"', f'"{horn_mm:.6f} mm"').replace("bottom", "top")
    path.write_text(SHEET + chain + f'arm_lean = "5 deg"\nhorn_lean = "{lean_deg:.6f} deg"\n')
    given = described_chain(load_sheet(path), "aileron")
    circles = CircleLinkage.built(10, 12, 80, lean_aft_deg=5.0, hole_aft_mm=2.0, shaft_lift_mm=horn_mm - 12)
    for servo_deg in (-30.0, 30.0):
        assert given.deflection_deg(servo_deg) == pytest.approx(circles.deflection_deg(servo_deg), abs=0.01)


def test_a_rudder_goes_left_and_right(tmp_path):
    path = tmp_path / "rudder.rig.toml"
    throws = 'throws.normal = { left = "20 deg", right = "20 deg" }'
    sheet = SHEET.replace('throws.normal = { up = "20 deg", down = "20 deg" }', throws) + CHAIN
    path.write_text(sheet.replace("aileron", "rudder"))
    outcome = CliRunner().invoke(linkage, [str(path), "rudder"], standalone_mode=False)
    assert ": left 36.1°, right 36.1°" in outcome.output
