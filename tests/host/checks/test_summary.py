"""Differential and repeatability over the throws of a surface; causes of an uneven throw are candidates."""

import re

import pytest

from hingeline.advice.linkage import Linkage
from hingeline.advice.verdict import judge_throw
from hingeline.checks.course import common_shift
from hingeline.checks.judgement import Comparison, judge
from hingeline.checks.positions import NEUTRAL, Position, positions
from hingeline.checks.results import ThrowResult
from hingeline.checks.summary import given_differentials, summarise
from hingeline.measure.cautions import Doubt
from hingeline.rig import load_sheet
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection

MEANT = Linkage.square(12, 15, 100)


def angle(deflection_deg: float) -> Deflection:
    return Deflection(deflection_deg, Budget.of([("noise", 0.02)]))


@pytest.fixture
def ends(tmp_path):
    """The two ends of a one-piece elevator that is to go as far down as up."""
    path = tmp_path / "even.rig.toml"
    path.write_text(
        'schema_version = 1\naircraft = "Even"\nmodes = ["normal"]\n'
        '[surface.elevator]\nthrows.normal = { up = "34 deg", down = "34 deg" }\n'
    )
    return tuple(positions(load_sheet(path), "elevator"))


def reading(position: Position, deflection_deg: float, cycle: int = 1, wrong: Doubt | None = None) -> ThrowResult:
    verdict = judge_throw(deflection_deg, 34.0, 1.0)
    judgement = judge("middle", Comparison(angle(deflection_deg), verdict, wrong=wrong))
    return ThrowResult("elevator", position.mode, position.command, (judgement,), cycle=cycle)


def test_an_uneven_throw_is_told_with_its_candidates(ends):
    """Arm 12, horn 15, rod 100 mm, servo ±45°, a hole 3 mm aft of the hinge line: 13 %, by intersecting circles."""
    built = MEANT.hole_aft(3)
    throws = [built.deflection_deg(servo_deg) for servo_deg in (45, -45)]
    found = summarise([reading(one, deg) for one, deg in zip(ends, throws, strict=True)], ends, MEANT)
    (uneven,) = found.differential
    assert uneven.unintended
    assert max(abs(one) for one in throws) / min(abs(one) for one in throws) == pytest.approx(1 / 0.87, abs=0.01)
    assert uneven.percent == pytest.approx(100 * (1 - abs(throws[1] / throws[0])))
    (aft_mm,) = re.findall(r"horn hole is ([\d.]+) mm aft", "".join(uneven.causes))
    assert float(aft_mm) == pytest.approx(3, abs=0.3)
    assert "perhaps" in found.text()


def test_what_the_sheet_wants_uneven_has_no_candidates(ends):
    found = summarise([reading(one, deg) for one, deg in zip(ends, (34.1, -33.8), strict=True)], ends, MEANT)
    (even,) = found.differential
    assert not even.unintended
    assert even.causes == ()
    assert found.repeatability == ()


@pytest.mark.parametrize(
    ("throws", "told"),
    [
        ('up = "34 deg", down = "34 deg"', "middle (normal): 12 % less down than up, wanted alike"),
        ('up = "34 deg", down = "12 deg"', ""),
        ('up = "34 deg", differential = "40 %"', "middle (normal): differential 12 %, wanted 40 %"),
    ],
)
def test_a_differential_is_told_where_the_sheet_gives_one_or_wants_none(tmp_path, throws, told):
    """34° up and 29.92° down are 12 %; two throws that differ are each reported separately."""
    path = tmp_path / "given.rig.toml"
    path.write_text(
        'schema_version = 1\naircraft = "Given"\nmodes = ["normal"]\n'
        f"[surface.elevator]\nthrows.normal = {{ {throws} }}\n"
    )
    sheet = load_sheet(path)
    readings = [reading(one, deg) for one, deg in zip(positions(sheet, "elevator"), (34.0, -29.92), strict=True)]
    found = summarise(readings, positions(sheet, "elevator"), None, given_differentials(sheet.surface("elevator")))
    assert found.text() == told
    assert found.differential[0].percent == pytest.approx(12, abs=0.01)


def test_an_angle_known_to_be_wrong_is_summed_up_in_nothing(ends):
    up, down = ends
    slipped = reading(down, -20.0, wrong=Doubt("the sensor slipped", "press it on"))
    assert summarise([reading(up, 34.0), slipped, slipped], ends, MEANT) == summarise([], ends, MEANT)


def test_repeatability_goes_from_the_least_to_the_greatest(ends):
    up, back = ends[0], Position("normal", NEUTRAL)
    readings = [reading(up, deg, cycle) for cycle, deg in enumerate((33.9, 34.2, 34.0), 1)]
    readings += [reading(back, deg, cycle) for cycle, deg in enumerate((0.1, -0.1, 0.0), 1)]
    first, second = summarise(readings, ends, None).repeatability
    assert (first.command, first.cycles, first.mean_deg) == ("up", 3, pytest.approx(34.0333, abs=1e-3))
    assert first.spread_deg == pytest.approx(0.3)
    assert second.spread_deg == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("left_deg", "right_deg", "shift_deg"),
    [(0.8, 0.7, 0.7), (-0.9, -0.5, -0.5), (0.8, 0.0, None), (0.8, -0.8, None), (0.15, 0.15, None)],
)
def test_only_a_turn_of_both_sides_alike_is_the_models(left_deg, right_deg, shift_deg):
    before = {"left": angle(0), "right": angle(0)}
    assert common_shift(before, {"left": angle(left_deg), "right": angle(right_deg)}) == shift_deg


def test_one_side_alone_tells_nothing_of_the_model():
    assert common_shift({"middle": angle(0)}, {"middle": angle(2)}) is None


@pytest.mark.parametrize("cycles", [1, 2, 3])
def test_two_cycles_tell_how_well_a_throw_repeats_and_one_does_not(ends, cycles):
    up, _ = ends
    found = summarise([reading(up, 34.0 + 0.1 * cycle, cycle) for cycle in range(cycles)], ends, MEANT).repeatability
    assert [(each.cycles, each.spread_deg) for each in found] == (
        [] if cycles == 1 else [(cycles, pytest.approx(0.1 * (cycles - 1)))]
    )
