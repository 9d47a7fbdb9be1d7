"""The guided procedure: any order, what is missing, what a pose buys, what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from hingeline_calibration.checklist import LEANED, PROCEDURES, Checklist, Pose, counted_poses
from hingeline_calibration.errors import (
    CalibrationError,
    MovedPose,
    RepeatedPose,
    SaturatedAxis,
    StuckAxis,
)
from hingeline_calibration.still import Reading

from . import simulate as sim


def readings_of(poses: tuple[sim.Pose, ...], seed: int = 1) -> tuple[sim.Benches, list[Reading]]:
    rng = np.random.default_rng(seed)
    benches = sim.draw(rng, 1, worst=True)
    return benches, [pose.reading for pose in sim.poses_of(benches, rng, poses)[0]]


def checklist(procedure: str = "12+6") -> Checklist:
    return Checklist(PROCEDURES[procedure], 16384)


@pytest.mark.parametrize("procedure", PROCEDURES)
@pytest.mark.parametrize("seed", range(3))
def test_any_order_of_faces_and_leans(procedure: str, seed: int) -> None:
    benches, readings = readings_of(sim.POSES[procedure], seed)
    rng = np.random.default_rng(seed)
    yaw_first = sorted(
        range(len(readings)),
        key=lambda k: (sim.POSES[procedure][k][1] if sim.POSES[procedure][k][0] else 0, rng.random()),
    )
    state = checklist(procedure)
    for index in yaw_first:
        state = state.take(readings[index])
    assert state.missing == ()
    assert sim.calibrated(benches, state.taken).residual_mg < 1.0


def test_quarter_turns_taken_the_other_way_round_are_found_out() -> None:
    """Table 0.5° off, face +x turned clockwise: its first harmonic runs backwards."""
    rng = np.random.default_rng(1)
    benches = sim.draw(rng, 1, tilt_deg=0.5)
    clockwise = [("+x", -float(how)) if face == "+x" else (face, how) for face, how in sim.TWENTY_FOUR]
    state = checklist("24")
    for pose in sim.poses_of(benches, rng, clockwise)[0]:
        state = state.take(pose.reading)
    with pytest.raises(MovedPose, match="left end up"):
        sim.calibrated(benches, state.taken)


def test_yaws_of_a_face_are_taken_in_turn() -> None:
    _, readings = readings_of(sim.TWELVE)
    state = checklist("12").take(readings[0])
    assert state.recognise(readings[1]) == Pose("+x", 180.0)
    assert [pose.name for pose in state.missing[:2]] == ["left end up, turned 180°", "right end up"]
    assert state.missing[0].instruction == "lay it left end up, turned end for end on its spot"


def test_each_quarter_turn_has_its_words() -> None:
    """As it is said at a table; the first laying is as it comes."""
    assert [Pose("+z", yaw_deg).instruction for yaw_deg in (0.0, 90.0, 180.0, 270.0)] == [
        "lay it lid up",
        "lay it lid up, turned a quarter turn on its spot",
        "lay it lid up, turned end for end on its spot",
        "lay it lid up, turned three quarters of a turn on its spot",
    ]


def test_opposite_edges_count_as_the_same_lean() -> None:
    _, readings = readings_of(((None, (1, 1, 0)), (None, (-1, -1, 0))))
    state = checklist().take(readings[0])
    assert state.done == (LEANED[0],)
    with pytest.raises(
        RepeatedPose, match=r"leaning, left end up and arrow up: all poses of this kind are done.*Next: lay"
    ):
        state.take(readings[1])


def test_what_a_rest_buys() -> None:
    """After six faces the leaned poses that see the shear in the plane of the deflection buy the most."""
    _, readings = readings_of(sim.SIX)
    state = checklist()
    state = state.take(readings[0])
    assert state.expected_deg() == float("inf")
    for reading in readings[1:]:
        state = state.take(reading)
    worth = {pose.name: (before, after) for pose, before, after in state.worth()}
    best = min(worth, key=lambda name: worth[name][1])
    assert best in ("leaning, arrow up and lid up", "leaning, arrow down and lid up")
    before, after = worth[best]
    assert before > 2 * after
    assert worth["leaning, left end up and arrow up"][1] == pytest.approx(before, rel=0.01)


def test_a_face_is_turned_only_after_it_has_lain() -> None:
    _, readings = readings_of(sim.TWELVE)
    state = checklist("12").take(readings[0])
    offered = [pose.name for pose, _, _ in state.worth()]
    assert offered == [
        "left end up, turned 180°",
        "right end up",
        "arrow up",
        "arrow down",
        "lid up",
        "lid down",
    ]


def test_what_it_expects_is_what_comes() -> None:
    """`expected_deg` of the full set is the calibration's part of a real deflection by 45°, root mean square.

    Of the benches whose poses repeat as expected; what chance makes of the last reading's noise is the rest.
    """
    from hingeline_calibration.hinge import deflection

    expected_deg, comes_deg = [], []
    for seed in range(10):
        benches, readings = readings_of(sim.POSES["12+6"], seed)
        state = checklist()
        for reading in readings:
            state = state.take(reading)
        calibration = sim.calibrated(benches, state.taken)
        if calibration.repeat.freedom is not None:
            continue
        level = calibration.gravity(readings[8])
        turned = replace(level, vector_g=sim.deflected(sim.X[None], level.vector_g[None], np.array([45.0]))[0])
        budget = dict(deflection(level, turned, calibration).budget.items())
        expected_deg.append(state.expected_deg())
        comes_deg.extend(budget.get(name, 0.0) for name in ("calibration noise", "table", "carrier"))
    assert len(expected_deg) > 3
    assert np.linalg.norm(expected_deg) == pytest.approx(np.linalg.norm(comes_deg), rel=0.1)


def test_a_sensor_that_was_not_moved() -> None:
    _, readings = readings_of(sim.TWELVE)
    state = checklist("12").take(readings[0])
    with pytest.raises(RepeatedPose, match="lies still since left end up was taken"):
        state.take(replace(readings[1], start_s=readings[0].start_s))


def test_a_face_that_is_done() -> None:
    _, readings = readings_of(sim.TWELVE)
    state = checklist("6").take(readings[0])
    with pytest.raises(RepeatedPose, match=r"left end up: all poses of this kind are done.*Next: lay it right end up"):
        state.take(readings[1])


def test_a_leaned_rest_where_none_is_wanted() -> None:
    _, readings = readings_of(((None, (1, 1, 0)),))
    with pytest.raises(RepeatedPose, match="leaning: not a pose of this procedure"):
        checklist("12").take(readings[0])


def test_saturated_axis() -> None:
    reading = Reading(np.array([32700.0, 0.0, 16384.0]), np.eye(3), 25.0, 1.0, 50, 0.0)
    with pytest.raises(SaturatedAxis, match=r"axis x reads 2\.00 g, the end of its range"):
        checklist().take(reading)


def test_stuck_axis() -> None:
    _, readings = readings_of(sim.SIX)
    stuck = [replace(w, mean_counts=np.array([*w.mean_counts[:2], 512.0])) for w in readings]
    state = checklist()
    for reading in stuck[:4]:  # with x and y up or down, z may well read the same
        state = state.take(reading)
    with pytest.raises(StuckAxis, match=r"axis z reads 0\.031 g in every position"):
        state.take(stuck[4])


def test_nothing_taken_tells_nothing() -> None:
    with pytest.raises(CalibrationError, match="no pose yet"):
        checklist().worth()


def test_poses_in_short() -> None:
    poses = (Pose("-y", 0.0), Pose("+z", 0.0), Pose("-y", 90.0), *LEANED)
    first, second, third = counted_poses(poses).split(", ")
    assert first.endswith(" ×2")
    assert "×" not in second
    assert third == "leaning ×6"
    assert "down" in first
    assert first.removesuffix(" ×2") != second
