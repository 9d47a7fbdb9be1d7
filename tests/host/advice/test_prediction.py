"""Throws, holes and candidates, with linkages of known faults."""

import random

import pytest

from hingeline.advice.linkage import Linkage
from hingeline.advice.prediction import best_holes, candidates, predict

SERVO_DEG = (45, 22.5, -22.5, -45)


def test_hole_aft_gives_13_percent_differential():
    # By intersecting circles: arm 12, horn 15, rod 100 mm, servo ±45°, hole 3 mm aft of the hinge line.
    throws = predict(Linkage.square(12, 15, 100).hole_aft(3), 45)
    assert round(abs(throws.differential_percent)) == 13
    assert abs(throws.down_deg) > throws.up_deg
    assert throws.text() == "up 32.5°, down 37.3° (13 % less up), 0.072° per µs"
    below = predict(Linkage.square(12, 15, 100, "bottom").hole_aft(3), 45)
    assert below.differential_percent == pytest.approx(-throws.differential_percent, abs=0.05)


def test_square_linkage_is_even():
    throws = predict(Linkage.square(12, 15, 100), 45)
    assert "(even)" in throws.text()
    # 12/15 of the servo's 0.09° per µs (common practice, no source)
    assert throws.resolution_deg_per_us == pytest.approx(0.072, abs=1e-9)


def test_best_holes_use_the_servo_and_reach_the_throw(circle_linkage):
    arms_mm, horns_mm = (8, 10, 12, 14), (10, 12, 15, 18)
    chosen = best_holes(Linkage.square(12, 15, 100), arms_mm, horns_mm, up_deg=28, down_deg=-20, servo_travel_deg=45)
    assert [round(h.travel_used_percent) for h in chosen] == sorted(
        (round(h.travel_used_percent) for h in chosen), reverse=True
    )
    fitting = set()
    for arm_mm in arms_mm:
        for horn_mm in horns_mm:
            built = circle_linkage.built(12, 15, 100)
            built.arm_mm, built.hole_mm = arm_mm, (0.0, horn_mm)
            built.rod_mm = built.rod_for_mm(0.0)
            try:
                reaches = built.deflection_deg(45) >= 28 and built.deflection_deg(-45) <= -20
            except ValueError:  # it binds on the way to the servo's end, which the throw may not need
                reaches = True
            if reaches:
                fitting.add((arm_mm, horn_mm))
    assert {(h.arm_mm, h.horn_mm) for h in chosen} == fitting
    best = chosen[0]
    assert 85 < best.travel_used_percent <= 100
    assert f"arm hole {best.arm_mm} mm with horn hole {best.horn_mm} mm: uses" in best.text()


def test_of_equal_holes_the_longer_horn():
    chosen = best_holes(Linkage.square(10, 12, 100), (8, 10), (12, 15), up_deg=25, down_deg=-25, servo_travel_deg=45)
    equal = [h for h in chosen if h.arm_mm / h.horn_mm == pytest.approx(2 / 3)]
    assert [h.horn_mm for h in equal] == [15, 12]


def test_no_holes_reach_an_impossible_throw():
    assert best_holes(Linkage.square(8, 20, 80), (6, 8), (20,), up_deg=60, down_deg=-60, servo_travel_deg=45) == ()


@pytest.mark.parametrize("side", ["top", "bottom"])
@pytest.mark.parametrize(
    ("cause", "fault", "told"),
    [
        ("arm", {"lean_aft_deg": 7.0}, "servo arm leans 7° off square, aft"),
        ("arm", {"lean_aft_deg": -7.0}, "servo arm leans 7° off square, ahead"),
        ("hole", {"hole_aft_mm": 3.0}, "horn hole is 3.0 mm aft of the hinge axis"),
        ("hole", {"hole_aft_mm": -3.0}, "horn hole is 3.0 mm ahead of the hinge axis"),
    ],
)
def test_known_fault_is_the_first_candidate(circle_linkage, side, cause, fault, told):
    built = circle_linkage.built(12, 15, 100, side=1 if side == "top" else -1, **fault)
    readings = [(servo_deg, built.deflection_deg(servo_deg)) for servo_deg in SERVO_DEG]
    first, second = candidates(Linkage.square(12, 15, 100, side), readings)
    assert first.cause == cause
    assert first.aft == pytest.approx(*fault.values(), abs=1e-3)
    assert first.residual_deg < 1e-3 < second.residual_deg
    assert first.text().startswith(f"perhaps the {told} (")


def test_fault_is_recovered_from_noisy_readings(circle_linkage):
    # 7° of lean takes about 2° from one full throw and adds it to the other. 0.05° on each of the two lets
    # the lean be known to 0.05/√2 / (2/7) = 0.12°; three of that.
    noise = random.Random(4)
    built = circle_linkage.built(12, 15, 100, lean_aft_deg=7.0)
    readings = [(s, built.deflection_deg(s) + noise.gauss(0, 0.05)) for s in SERVO_DEG]
    first = candidates(Linkage.square(12, 15, 100), readings)[0]
    assert first.cause == "arm"
    assert first.aft == pytest.approx(7.0, abs=0.36)
    assert 0.005 < first.residual_deg < 0.1


def test_even_throws_have_no_candidates():
    meant = Linkage.square(12, 15, 100)
    assert candidates(meant, [(s, meant.deflection_deg(s)) for s in SERVO_DEG]) == ()
