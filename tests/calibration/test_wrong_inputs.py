"""Wrong inputs of a calibration, each with its own message."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from hingeline_calibration.calibration import Calibration
from hingeline_calibration.chips import chip_facts
from hingeline_calibration.errors import (
    BadRecord,
    CalibrationError,
    MovedPose,
    NewerRecord,
    RepeatedPose,
    SaturatedAxis,
    StuckAxis,
    WrongCountsPerG,
    WrongFace,
)
from hingeline_calibration.fit import calibrate
from hingeline_calibration.poses import TakenPose, recognise
from hingeline_calibration.priors import Priors, flatness_deg
from hingeline_calibration.still import summarise

from . import simulate as sim


@pytest.fixture
def bench() -> tuple[sim.Benches, list[TakenPose]]:
    rng = np.random.default_rng(1)
    benches = sim.draw(rng, 1)
    return benches, sim.poses_of(benches, rng, sim.POSES["12+6"])[0]


def shown(pose: TakenPose, counts: np.ndarray) -> TakenPose:
    return replace(pose, reading=replace(pose.reading, mean_counts=counts))


def test_moved_placement(bench) -> None:
    """One of four yaws on a face laid on something: half a degree is twenty times a pose's scatter."""
    benches, _ = bench
    rng = np.random.default_rng(2)
    taken = sim.poses_of(benches, rng, sim.TWENTY_FOUR)[0]
    counts = taken[9].reading.mean_counts
    taken[9] = shown(taken[9], counts + np.array([np.radians(0.7), 0, 0]) * 16384)
    with pytest.raises(MovedPose, match=r"pose 10 \(arrow up, turned 90°\) disagrees"):
        sim.calibrated(benches, taken)


def test_same_face_twice(bench) -> None:
    benches, taken = bench
    with pytest.raises(RepeatedPose, match="left end up was taken before"):
        sim.calibrated(benches, [*taken, replace(taken[0], reading=replace(taken[0].reading, start_s=999.0))])


def test_one_window_for_two_rests(bench) -> None:
    benches, taken = bench
    with pytest.raises(RepeatedPose, match="lies still since left end up was taken"):
        sim.calibrated(benches, [taken[0], replace(taken[1], reading=taken[0].reading), *taken[2:]])


def test_upside_down_claim(bench) -> None:
    benches, taken = bench
    with pytest.raises(WrongFace, match="upside down: the sensor shows lid up, expected lid down"):
        sim.calibrated(benches, [*taken[:8], replace(taken[8], face="-z"), *taken[9:]])


def test_another_face_than_claimed(bench) -> None:
    benches, taken = bench
    with pytest.raises(WrongFace, match=r"shows left end up, expected arrow up.*fixed in it another way round"):
        sim.calibrated(benches, [replace(taken[0], face="+y"), *taken[1:]])


def test_face_claimed_to_be_leaned(bench) -> None:
    benches, taken = bench
    with pytest.raises(WrongFace, match=r"shows left end up, expected leaning.*Lean the carrier"):
        sim.calibrated(benches, [replace(taken[0], face=None, yaw_deg=None), *taken[1:]])


@pytest.mark.parametrize(("lean_deg", "face"), [(11.0, "+z"), (12.0, None), (-11.0, "+z"), (-12.0, None)])
def test_a_face_that_leans_by_a_fifth_is_no_face(lean_deg: float, face: str | None) -> None:
    """The sine of 11.54° is 0.2. The worst chip shows 0.17 on the other axes of a face, a lean of 20° shows 0.34."""
    up = np.array([0.0, np.sin(np.radians(lean_deg)), np.cos(np.radians(lean_deg))])
    for plumb in (up, up[[1, 0, 2]]):
        reading = summarise(np.arange(50) / 50, np.tile(16384 * plumb, (50, 1)), [None] * 50)
        assert recognise(reading, 16384) == face


@pytest.mark.parametrize(("length_g", "refused"), [(0.74, True), (0.76, False), (1.24, False), (1.26, True)])
def test_a_quarter_off_1_g_is_no_gravity(length_g: float, refused: bool) -> None:
    """The worst chip shows 0.86 to 1.14 g (80 mg, 3 %, 2 %)."""
    reading = summarise(np.arange(50) / 50, np.tile([0.0, 0.0, 16384 * length_g], (50, 1)), [None] * 50)
    if refused:
        with pytest.raises(WrongCountsPerG):
            recognise(reading, 16384)
    else:
        assert recognise(reading, 16384) == "+z"


def test_saturated_axis(bench) -> None:
    benches, taken = bench
    with pytest.raises(SaturatedAxis, match=r"axis y reads 2\.00 g"):
        sim.calibrated(benches, [shown(taken[0], np.array([0.0, 32760.0, 0.0])), *taken[1:]])


def test_stuck_axis(bench) -> None:
    benches, taken = bench
    stuck = [shown(pose, np.array([*pose.reading.mean_counts[:2], 37.0])) for pose in taken]
    with pytest.raises(StuckAxis, match=r"axis z reads 0\.002 g in every position"):
        sim.calibrated(benches, stuck)


def test_wrong_counts_per_g(bench) -> None:
    _, taken = bench
    with pytest.raises(WrongCountsPerG, match=r"\|gravity\| of [34]\.\d\d g at 4096 counts per g"):
        calibrate(taken, sensor_id="a-0", chip="mpu6050", counts_per_g=4096, date="2026-03-01", tool_version="0.1.0")


def test_unknown_chip() -> None:
    with pytest.raises(CalibrationError, match=r"chip 'abc', expected one of mpu6050, .*lis3dh"):
        chip_facts("abc")


def test_missing_temperature_is_no_reason_to_refuse(bench) -> None:
    """A chip without thermometer calibrates; the calibration says that it knows no temperature."""
    benches, taken = bench
    blind = [replace(pose, reading=replace(pose.reading, temperature_c=None)) for pose in taken]
    assert sim.calibrated(benches, blind).temperature_c is None


def test_record_there_and_back(bench) -> None:
    benches, taken = bench
    calibration = sim.calibrated(benches, taken)
    text = json.dumps(calibration.to_dict())
    again = Calibration.from_dict(json.loads(text))
    assert json.dumps(again.to_dict()) == text
    assert again.covariance == pytest.approx(calibration.covariance, rel=1e-4, abs=1e-9 * calibration.covariance.max())
    assert again.gravity(taken[0].reading).vector_g == pytest.approx(calibration.gravity(taken[0].reading).vector_g)
    # PROTOCOL.md: most bytes of a calibration stored on the board.
    assert len(text) < 8192


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"format": 2}, NewerRecord, "a calibration of format 2, expected at most 1.*pip install --upgrade"),
        ({"format": "1"}, BadRecord, "format '1', expected a calibration"),
        ({"kind": "datum"}, BadRecord, "kind 'datum'"),
        ({"bias_counts": [1, 2]}, BadRecord, "can't be read.*shape"),
        ({"bias_counts": [1, 2, None]}, BadRecord, "can't be read"),
        ({"matrix_counts_per_g": "x"}, BadRecord, "can't be read"),
        ({"covariance_parts": {"table": [0.0] * 77}}, BadRecord, "can't be read"),
        ({"unheard_of": 1}, BadRecord, "can't be read.*unheard_of"),
    ],
)
def test_edited_record(bench, change: dict[str, object], error: type[CalibrationError], words: str) -> None:
    benches, taken = bench
    record = sim.calibrated(benches, taken).to_dict()
    with pytest.raises(error, match=words):
        Calibration.from_dict(record | change)


@pytest.mark.parametrize("key", ["bias_counts", "tempco", "date", "placements", "noise_mg"])
def test_record_with_a_key_missing(bench, key: str) -> None:
    benches, taken = bench
    record = sim.calibrated(benches, taken).to_dict()
    del record[key]
    with pytest.raises(BadRecord, match="can't be read"):
        Calibration.from_dict(record)


def test_priors_that_claim_perfection() -> None:
    with pytest.raises(CalibrationError, match="prior squareness_deg of 0"):
        Priors(squareness_deg=0.0)


@pytest.mark.parametrize(("grade", "flatness_um"), [("0", 5.2), ("I", 13), ("II", 26), ("III", 52)])
def test_flatness_grades(grade: str, flatness_um: float) -> None:
    """DIN 876 at L = 300 mm; all of 52 µm across 100 mm is 0.030°, rectangular."""
    expected = np.degrees(flatness_um * 1e-3 / 100) / np.sqrt(3)
    assert flatness_deg(grade, 300, 100) == pytest.approx(expected, rel=1e-12)


def test_unknown_grade() -> None:
    with pytest.raises(CalibrationError, match="flatness grade 'IV', expected one of 0, I, II, III"):
        flatness_deg("IV", 300, 100)
