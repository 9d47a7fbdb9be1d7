"""How a surface moves, against scipy's integrator and the definition of play."""

import math

import numpy as np
import pytest
from scipy import signal

from hingeline_virtual.scenario import Surface
from hingeline_virtual.surface import Linkage, SurfaceState

RINGING_HZ, DAMPING, RATE_DEG_S = 6.0, 0.3, 200.0


def linkage(angle_deg=0.0):
    return Linkage(RATE_DEG_S, RINGING_HZ, DAMPING, angle_deg)


def test_moves_as_a_second_order_system_that_a_servo_of_finite_rate_drives():
    moved = linkage()
    moved.move(0.1, 30.0)
    moved.move(0.2, -10.0)
    times = np.linspace(0, 1.2, 2401)
    drive = np.clip((times - 0.1) * RATE_DEG_S, 0, 30) + np.clip((times - 0.2) * -RATE_DEG_S, -40, 0)
    omega = 2 * math.pi * RINGING_HZ
    _, reference, _ = signal.lsim(([omega**2], [1, 2 * DAMPING * omega, omega**2]), drive, times)
    got = np.array([moved.state(t) for t in times])
    np.testing.assert_allclose(got[:, 0], reference, atol=2e-3)
    np.testing.assert_allclose(got[1:-1, 1], np.gradient(got[:, 0], times)[1:-1], atol=2.0)
    np.testing.assert_allclose(got[2:-2, 2], np.gradient(got[:, 1], times)[2:-2], atol=0.02 * abs(got[:, 2]).max())


def test_is_at_its_target_once_settled_and_within_half_a_thousandth_before():
    moved = linkage(1.0)
    moved.move(0.0, 21.0)
    moved.move(0.05, 16.0)
    assert moved.state(moved.settled_s) == (16.0, 0.0, 0.0)
    assert moved.state(moved.settled_s - 1e-6)[0] == pytest.approx(16.0, abs=2e-3)


def test_many_moves_leave_nothing_behind():
    moved = linkage()
    for i in range(300):
        moved.move(2.0 * i, i / 7)
        assert moved.state(2.0 * i - 0.5)[0] == pytest.approx(max(i - 1, 0) / 7, abs=1e-9)
    assert moved.state(700.0)[0] == pytest.approx(299 / 7, abs=1e-9)


def surface(**keys):
    return SurfaceState(Surface(name="flap", side="left", **keys))


def rest(state):
    return state.truth_now(1e9)


def test_comes_to_rest_on_the_near_side_of_its_play_and_stays_where_it_was_pushed():
    state = surface(play_deg=0.6, compliance_deg=0.2)
    state.deflect(0.0, 10.0)
    assert rest(state)["deflection_deg"] == pytest.approx(9.7)
    state.deflect(1.0, 0.0)
    assert rest(state)["deflection_deg"] == pytest.approx(0.3)
    for toward, pushed, released in ((1, 0.5, 0.3), (-1, -0.5, -0.3)):
        state.push(2.0, toward)
        assert rest(state)["deflection_deg"] == pytest.approx(pushed)
        state.push(3.0, 0)
        assert rest(state)["deflection_deg"] == pytest.approx(released)


def test_stands_until_its_play_is_taken_up_then_follows():
    """Against the play operator: the surface stays within half the play of where the servo has it, else it stands."""
    state = surface(play_deg=3.0, ringing_hz=50.0, damping=0.7)
    courses = ((15.0, 10.0), (0.0, 15.0), (2.0, 4.0), (1.0, 3.0), (-6.0, 8.0), (-6.0, 1.0), (0.5, 2.0))
    start_s, servo, place = 1.0, 0.0, 0.0
    for target, over_s in courses:
        state.deflect(start_s, target, over_s)
        for part in np.linspace(0.0, 1.0, 41):
            now = servo + part * (target - servo)
            place = min(max(place, now - 1.5), now + 1.5)
            assert state.truth_now(start_s + part * over_s)["angle_deg"] == pytest.approx(place, abs=0.05)
        start_s, servo = start_s + over_s + 1.0, target


def test_without_play_it_rests_where_it_is_commanded():
    state = surface(neutral_deg=1.8)
    state.deflect(0.0, -12.0)
    assert rest(state)["angle_deg"] == pytest.approx(-10.2)
    assert rest(state)["deflection_deg"] == pytest.approx(-12.0)


def test_an_adjusted_clevis_and_end_point_move_it_at_once():
    state = surface(positions={"up": 20.0})
    state.stick(0.0, "up", None)
    state.adjust(1.0, 1.5, {"up": 18.0})
    assert rest(state) == {
        "surface": "flap",
        "angle_deg": pytest.approx(19.5),
        "neutral_deg": 1.5,
        "deflection_deg": pytest.approx(18.0),
        "commanded_deg": 18.0,
    }
    state.stick(2.0, "neutral", None)
    assert rest(state)["angle_deg"] == pytest.approx(1.5)
