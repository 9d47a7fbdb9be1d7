"""The scene's frames against plumb lines worked out by hand and figures of formulas computed apart from it."""

import math

import numpy as np
import pytest

from hingeline.errors import ScenarioError
from hingeline_virtual.commands import COMMAND
from hingeline_virtual.scenario import Scenario
from hingeline_virtual.scene import Scene

LONG_AFTER_S = 60.0


def scene(**tables):
    boards = [{"name": "b", "sensors": [{"name": "s", "chip": "mpu6050", **tables.pop("sensor", {})}]}]
    return Scene(Scenario.model_validate({"boards": boards, **tables}))


def done(world, *command_fields, at_s=0.0):
    for fields in command_fields:
        at_s = world.do(COMMAND.validate_python(fields), at_s)
    return at_s


def up(world, time_s=LONG_AFTER_S):
    return world.force_g("s", time_s)


AXES = {"x": (1, 0, 0), "y": (0, 1, 0), "z": (0, 0, 1)}


@pytest.mark.parametrize("yaw_deg", [0, 90, 180, 270])
@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("axis", AXES)
def test_a_face_up_shows_one_g_on_its_axis_whatever_the_yaw(axis, sign, yaw_deg):
    world = scene()
    done(world, {"do": "place", "sensor": "s", "face": f"{'+' if sign > 0 else '-'}{axis}", "yaw_deg": yaw_deg})
    np.testing.assert_allclose(up(world), np.multiply(sign, AXES[axis]), atol=1e-12)


def test_a_table_that_falls_to_the_left_lowers_the_carriers_x_axis():
    # World X is the aircraft's left: x points downhill, so the up vector leans against it.
    world = scene(table={"tilt_deg": 2.0, "direction_deg": 0.0})
    expected = [-math.sin(math.radians(2)), 0.0, math.cos(math.radians(2))]
    np.testing.assert_allclose(up(world), expected, atol=1e-12)


def test_the_table_tilt_cancels_over_two_placements_turned_end_for_end():
    # Reversal, the classical level test: tilt = (A - B)/2, error of the carrier = (A + B)/2.
    world = scene(table={"tilt_deg": 0.5, "direction_deg": 40.0}, sensor={"square_deg": {"+z": [0.3, -0.2]}})
    readings = []
    for yaw_deg in (0, 180):
        done(world, {"do": "place", "sensor": "s", "face": "+z", "yaw_deg": yaw_deg}, at_s=10.0 + yaw_deg)
        readings.append(up(world, 500.0))
    lean_deg = np.degrees(np.add(*readings)[:2] / 2)
    tilt_deg = np.degrees(np.linalg.norm(np.subtract(*readings)[:2]) / 2)
    np.testing.assert_allclose(lean_deg, [0.3, -0.2], atol=2e-5)
    assert tilt_deg == pytest.approx(0.5, abs=2e-5)


def test_scatter_is_drawn_anew_each_time_and_has_the_size_that_was_told():
    world = scene(hands={"placement_scatter_deg": 0.1})
    leans = []
    for i in range(400):
        done(world, {"do": "place", "sensor": "s", "face": "+z"}, at_s=10.0 * i)
        leans.append(np.degrees(up(world, 10.0 * i + 5)[:2]))
    assert np.std(leans) == pytest.approx(0.1, rel=5 / math.sqrt(2 * 800))


def test_a_sine_bar_turns_the_carrier_about_its_x():
    # Sine bar 200 mm on a 34.73 mm stack = 10.00 deg.
    world = scene()
    incline_deg = math.degrees(math.asin(34.73 / 200))
    done(world, {"do": "place", "sensor": "s", "face": "+z", "incline_deg": incline_deg})
    got = up(world)
    assert math.degrees(math.atan2(got[1], got[2])) == pytest.approx(10.0, abs=0.005)
    assert got[0] == pytest.approx(0.0, abs=1e-12)


def test_leaned_shows_the_direction_told():
    world = scene()
    done(world, {"do": "lean", "sensor": "s", "up": [1, -2, 2]})
    np.testing.assert_allclose(up(world), [1 / 3, -2 / 3, 2 / 3], atol=1e-12)


def taped(deflections_deg=(0.0, 30.0), attitude=None, tape=None, **surface):
    surface = {"name": "flap", "side": "left", **surface}
    world = scene(surfaces=[surface])
    end_s = done(world, {"do": "tape", "sensor": "s", "surface": "flap", **(tape or {})})
    if attitude:
        end_s = done(world, {"do": "attitude", **attitude}, at_s=end_s)
    readings = []
    for deflection_deg in deflections_deg:
        move = {"do": "deflect", "surface": "flap", "deflection_deg": deflection_deg}
        end_s = done(world, move, at_s=end_s)
        readings.append(up(world, end_s))
    return readings


def about_hinge_deg(before, after):
    """How far the plumb line goes round the hinge, which is the carrier's x: seen along it, in the plane of y and z."""
    bearings_deg = [math.degrees(math.atan2(y, z)) for _, y, z in (before, after)]
    return bearings_deg[1] - bearings_deg[0]


@pytest.mark.parametrize("side", ["left", "right"])
def test_trailing_edge_up_is_positive_on_both_sides(side):
    before, after = taped(side=side, skin_slope_deg=-6.0, sweep_deg=12.0, dihedral_deg=4.0)
    assert about_hinge_deg(before, after) == pytest.approx(30.0, abs=1e-9)
    assert taped((0.0, 0.1), side=side)[1][1] > 0


@pytest.mark.parametrize("side", ["left", "right"])
def test_dihedral_lifts_the_tip(side):
    (level,) = taped((0.0,), side=side, dihedral_deg=5.0)
    # The x axis points to the left: up toward the left tip, down from the right one.
    assert level[0] == pytest.approx(math.sin(math.radians(5 if side == "left" else -5)), abs=1e-12)


@pytest.mark.parametrize(
    ("hinge_raised_deg", "shown_deg"),
    [(5, 30 - 0.117), (10, 30 - 0.466), (20, 30 - 1.85), (30, 30 - 4.10), (45, 21.09)],
)
def test_angle_between_gravity_vectors_on_a_raised_hinge(hinge_raised_deg, shown_deg):
    # sin(γ/2) = cos e · sin(δ/2), spherical trigonometry: hinge raised by e, true 30 deg.
    before, after = taped(dihedral_deg=hinge_raised_deg)
    between_deg = math.degrees(math.acos(np.dot(before, after)))
    assert between_deg == pytest.approx(shown_deg, abs=0.006)
    assert about_hinge_deg(before, after) == pytest.approx(30.0, abs=1e-9)


@pytest.mark.parametrize(("yaw_deg", "error_deg"), [(2, -0.020), (5, -0.126), (10, -0.501)])
def test_one_axis_formula_on_a_yawed_sensor(yaw_deg, error_deg):
    # The usual one-axis formula: sensor yawed to a level hinge, true 30 deg, asin(cos yaw sin 30).
    _, after = taped(mounting_yaw_deg=yaw_deg)
    assert math.degrees(math.asin(after[1])) - 30 == pytest.approx(error_deg, abs=0.0005)


def test_upside_down_shows_minus_one_g_and_keeps_the_arrow_aft():
    level, raised = taped((0.0, 10.0), tape={"upside_down": True})
    np.testing.assert_allclose(level, [0, 0, -1], atol=1e-12)
    assert raised[1] == pytest.approx(math.sin(math.radians(10)), abs=1e-12)


def test_an_upright_rudder_shows_nothing_and_a_laid_one_all():
    before, after = taped(side="middle", dihedral_deg=90.0)
    np.testing.assert_allclose(before, after, atol=1e-12)
    before, after = taped(side="middle", dihedral_deg=90.0, attitude={"roll_deg": 90.0})
    assert math.degrees(math.acos(np.dot(before, after))) == pytest.approx(30.0, abs=1e-9)


def test_nose_up_raises_the_leading_edge_and_left_wing_up_raises_x():
    (nose_up,) = taped((0.0,), attitude={"pitch_deg": 3.0})
    assert nose_up[1] == pytest.approx(-math.sin(math.radians(3)), abs=1e-12)
    (wing_up,) = taped((0.0,), attitude={"roll_deg": 3.0})
    assert wing_up[0] == pytest.approx(math.sin(math.radians(3)), abs=1e-12)


def test_a_hand_is_never_still_and_never_one_g():
    world = scene()
    done(world, {"do": "hold", "sensor": "s"})
    norms = [np.linalg.norm(up(world, 1 + i / 50)) for i in range(100)]
    assert 0.02 < np.std(norms) < 0.5


def test_a_carrier_on_its_way_is_felt_and_then_still():
    world = scene()
    settled_s = done(world, {"do": "place", "sensor": "s", "face": "+z", "yaw_deg": 180})
    moving = [up(world, i * settled_s / 20) for i in range(1, 20)]
    assert max(abs(np.linalg.norm(vector) - 1) for vector in moving) > 0.02
    np.testing.assert_array_equal(up(world, settled_s), up(world, settled_s + 9))


def test_a_swinging_surface_adds_its_own_acceleration():
    world = scene(surfaces=[{"name": "flap", "side": "left", "sensor_aft_mm": 30, "damping": 0.2}])
    end_s = done(world, {"do": "tape", "sensor": "s", "surface": "flap"})
    done(world, {"do": "deflect", "surface": "flap", "deflection_deg": 40}, at_s=end_s)
    times = end_s + np.linspace(0.01, 0.3, 600)
    angle = np.radians([world.surfaces["flap"].linkage.state(t)[0] for t in times])
    place_m = 0.030 * np.column_stack([np.cos(angle), np.sin(angle)])
    step = times[1] - times[0]
    acceleration_g = np.gradient(np.gradient(place_m, step, axis=0), step, axis=0) / 9.80665
    expected = np.linalg.norm(acceleration_g + np.array([0, 1]), axis=1)[2:-2]
    got = [np.linalg.norm(world.force_g("s", t)) for t in times[2:-2]]
    np.testing.assert_allclose(got, expected, atol=0.02)


def test_a_chip_follows_the_room_with_its_time_constant():
    world = scene(room={"ambient_c": 20, "warming_s": 100}, sensor={"self_heating_c": 3})
    assert world.temperature_c("s", 0.0) == 20
    assert world.temperature_c("s", 100.0) == pytest.approx(20 + 3 * (1 - math.exp(-1)))
    done(world, {"do": "warm", "ambient_c": 30}, at_s=1000.0)
    assert world.temperature_c("s", 1100.0) == pytest.approx(23 + 10 * (1 - math.exp(-1)), abs=1e-3)


@pytest.mark.parametrize(
    "command_fields",
    [
        {"do": "place", "sensor": "t", "face": "+z"},
        {"do": "deflect", "surface": "fin", "deflection_deg": 1},
        {"do": "stick", "position": "up"},
        {"do": "tape", "sensor": "s", "surface": "fin"},
    ],
)
def test_what_is_not_there_is_told_with_what_is(command_fields):
    with pytest.raises(ScenarioError, match=r"there is no|no surface has"):
        done(scene(), command_fields)


@pytest.mark.parametrize(
    "where", [{"do": "place", "face": "+z"}, {"do": "tape", "surface": "flap"}], ids=["table", "surface"]
)
def test_a_knocked_carrier_shakes_and_has_slipped(where):
    # A turn by 2° about its own x, which is level here, leans the carrier's y up by as much.
    world = scene(surfaces=[{"name": "flap", "side": "left"}])
    knocked_s = done(world, {**where, "sensor": "s"}) + 1.0
    before = up(world, knocked_s)
    settled_s = world.do(COMMAND.validate_python({"do": "knock", "sensor": "s", "slip_deg": [2, 0, 0]}), knocked_s)
    assert settled_s == pytest.approx(knocked_s + 0.2)
    np.testing.assert_array_equal(up(world, knocked_s), before)
    assert np.linalg.norm(up(world, knocked_s + 0.1) - before) > 0.01
    expected = [0.0, math.sin(math.radians(2)), math.cos(math.radians(2))]
    np.testing.assert_allclose(up(world, knocked_s + 0.21), expected, atol=1e-12)
