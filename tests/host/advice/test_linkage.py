"""The four-bar solver against published angles, the long-rod limit and intersecting circles."""

from math import asin, degrees, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hingeline.advice.linkage import Linkage, four_bar_deg
from hingeline.errors import LinkageBinds

# Arm 10, horn 12, rod 80 mm, square at neutral: servo angle, deflection; computed apart from this
# code, by intersecting circles.
SQUARE_10_12_80 = [
    (15, 12.4557),
    (-15, -12.4555),
    (30, 24.6263),
    (-30, -24.6223),
    (45, 36.1185),
    (-45, -36.0897),
]
# The same with an endless rod, asin((rs/rh) sin α); same source.
LONG_ROD_LIMIT = [(15, 12.4556), (30, 24.6243), (45, 36.1042)]

layouts = st.fixed_dictionaries(
    {
        "arm_mm": st.floats(6, 16),
        "rod_mm": st.floats(50, 300),
        "ratio": st.floats(1.05, 2.0),
        "up": st.booleans(),
    }
)


def square(arm_mm, rod_mm, ratio, up):
    return Linkage.square(arm_mm, arm_mm * ratio, rod_mm, "top" if up else "bottom")


def test_textbook_four_bar():
    # a, b, c, d = 40, 120, 80, 100 mm, θ2 = 40°. A textbook example of
    # Freudenstein's equation, from memory; reproduced by intersecting circles.
    assert four_bar_deg(40, 120, 80, 100, 40) == pytest.approx((-98.005, 57.325), abs=0.0005)


@pytest.mark.parametrize(("servo_deg", "deflection_deg"), SQUARE_10_12_80)
@pytest.mark.parametrize("side", ["top", "bottom"])
def test_square_linkage(servo_deg, deflection_deg, side):
    linkage = Linkage.square(10, 12, 80, side)
    # seen from below, up is down
    mirrored = 1 if side == "top" else -1
    assert mirrored * linkage.deflection_deg(mirrored * servo_deg) == pytest.approx(deflection_deg, abs=0.00005)


@pytest.mark.parametrize(("servo_deg", "deflection_deg"), LONG_ROD_LIMIT)
def test_long_rod_limit(servo_deg, deflection_deg):
    assert Linkage.square(10, 12, 1e6).deflection_deg(servo_deg) == pytest.approx(deflection_deg, abs=0.00005)
    assert degrees(asin(10 / 12 * sin(radians(servo_deg)))) == pytest.approx(deflection_deg, abs=0.00005)


def test_servo_45_on_arm_12_horn_15():
    # 34.4 and 34.5° by intersecting circles.
    linkage = Linkage.square(12, 15, 100)
    assert sorted(round(abs(linkage.deflection_deg(s)), 1) for s in (45, -45)) == [34.4, 34.5]


@given(layouts, st.floats(-60, 60), st.floats(-15, 15), st.floats(-3, 3))
def test_agrees_with_intersecting_circles(circle_linkage, layout, servo_deg, lean_deg, aft_mm):
    horn_mm = layout["arm_mm"] * layout["ratio"]
    drawn = square(**layout).leaning_aft(lean_deg).hole_aft(aft_mm)
    built = circle_linkage.built(
        layout["arm_mm"],
        horn_mm,
        layout["rod_mm"],
        side=1 if layout["up"] else -1,
        lean_aft_deg=lean_deg,
        hole_aft_mm=aft_mm,
    )
    try:
        deflection_deg = drawn.deflection_deg(servo_deg)
    except LinkageBinds:
        with pytest.raises(ValueError, match=r"math domain|nonnegative"):
            built.deflection_deg(servo_deg)
        return
    assert deflection_deg == pytest.approx(built.deflection_deg(servo_deg), abs=1e-6)


@given(layouts, st.floats(-60, 60))
def test_driven_from_the_horn_is_the_inverse(layout, servo_deg):
    linkage = square(**layout)
    assert linkage.servo_deg(linkage.deflection_deg(servo_deg)) == pytest.approx(servo_deg, abs=1e-6)


@given(layouts, st.floats(-50, 50))
def test_ratio_is_the_slope(layout, servo_deg):
    linkage = square(**layout)
    h = 0.01
    slope = (linkage.deflection_deg(servo_deg + h) - linkage.deflection_deg(servo_deg - h)) / (2 * h)
    assert linkage.ratio(servo_deg) == pytest.approx(slope, rel=1e-5)


def test_a_linkage_that_binds_is_told():
    with pytest.raises(LinkageBinds, match=r"rod of 80\.0 mm can't join levers of 20\.0 and 8\.0 mm") as caught:
        Linkage.square(20, 8, 80).deflection_deg(60)
    assert caught.value.exit_status == 2
