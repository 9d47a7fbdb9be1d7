"""The datum: reversal on a tilted table, left against right, closure, and what is refused."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import LEVEL, Datum, mismatch
from hingeline_calibration.errors import BadRecord, NewerRecord, OtherSensor, WrongPose
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis

from . import simulate as sim

DATE = "2026-03-01T10:00:00+00:00"
KNOWN_AXIS = HingeAxis(yaw_sd_deg=0.1, elevation_sd_deg=0.1)


class Pair:
    """Two calibrated sensors, and what they show in any attitude."""

    def __init__(self, seed: int, *, worst: bool = True) -> None:
        self.rng = np.random.default_rng(seed)
        self.benches = sim.draw(self.rng, 2, worst=worst, tilt_deg=0.5)
        taken = sim.poses_of(self.benches, self.rng, sim.POSES["12+6"])
        records = [
            sim.calibrated(self.benches, row).to_dict() | {"sensor_id": name}
            for row, name in zip(taken, "LR", strict=True)
        ]
        self.calibrations = {record["sensor_id"]: Calibration.from_dict(record) for record in records}

    def gravity(self, ups: dict[str, np.ndarray], warmer_c: float = 0.0) -> dict[str, Gravity]:
        shown = sim.readings(self.benches, self.rng, np.array([[ups["L"]], [ups["R"]]]), warmer_c=warmer_c)
        return {name: self.calibrations[name].gravity(row[0]) for name, row in zip("LR", shown, strict=True)}

    def on_table(self, tilt: Rotation, yaw_deg: float = 0.0, laid_rad: float = 0.0) -> dict[str, Gravity]:
        ups = {}
        for name in "LR":
            laid = Rotation.from_rotvec([*(laid_rad * self.rng.standard_normal(2)), 0.0])
            ups[name] = (tilt * laid * Rotation.from_euler("z", yaw_deg, degrees=True)).inv().apply(sim.Z)
        return self.gravity(ups)


@pytest.fixture(scope="module")
def pair() -> Pair:
    return Pair(1)


def test_reversal_on_a_table_tilted_3_degrees_recovers_zero() -> None:
    """Zero within 0.05° and the tilt itself, in 95 of 100 (requirement of the project; classical level test)."""
    held = []
    for seed in range(40):
        pair = Pair(seed)
        tilt = Rotation.from_rotvec(np.radians(3) * np.array([np.cos(seed), np.sin(seed), 0]))
        datum = Datum.take_reversed(pair.on_table(tilt), pair.on_table(tilt, 180), DATE)
        level = pair.gravity(dict.fromkeys("LR", sim.Z))
        for name in "LR":
            held.append(abs(datum.angle(name, level[name], pair.calibrations[name]).deflection_deg) < 0.05)
        assert datum.table_tilt_deg == pytest.approx(3, abs=0.05)
    assert np.mean(held) >= 0.95


def test_a_reversal_began_with_its_first_laying_and_lasted_both(pair: Pair) -> None:
    first, turned = (pair.on_table(Rotation.identity(), yaw_deg) for yaw_deg in (0, 180))
    later = {name: replace(gravity, time_s=gravity.time_s + 60) for name, gravity in turned.items()}
    datum = Datum.take_reversed(first, later, DATE)
    for name in "LR":
        assert datum.gravity[name].time_s == first[name].time_s
        assert datum.gravity[name].duration_s == pytest.approx(2 * first[name].duration_s)


def test_left_against_right_does_not_need_a_level_table(pair: Pair) -> None:
    """One laying on a table 0.5° off: each angle is off by the tilt and says so, the mismatch is not."""
    tilt = Rotation.from_rotvec([np.radians(0.5), 0, 0])
    datum = Datum.take(pair.on_table(tilt), DATE)
    ups = {
        name: sim.deflected(sim.X[None], sim.Z[None], np.array([angle]))[0] for name, angle in (("L", 7.0), ("R", 5.2))
    }
    now = pair.gravity(ups)
    left, right = (datum.angle(name, now[name], pair.calibrations[name], KNOWN_AXIS) for name in "LR")
    gap = mismatch(left, right)
    assert abs(left.deflection_deg - 7.0) == pytest.approx(0.5, abs=0.1)
    assert dict(left.budget.items())[LEVEL] == 0.25
    assert LEVEL not in dict(gap.budget.items())
    assert gap.interval_deg[0] <= 1.8 <= gap.interval_deg[1]
    assert gap.standard_uncertainty_deg < 0.06


def test_stated_interval_of_a_mismatch_holds_the_truth() -> None:
    """93 to 97 of 100 mismatches, surfaces up to 20° from the datum, each sensor laid with the priors' scatter."""
    held = []
    for seed in range(150):
        pair = Pair(1000 + seed, worst=False)
        rng = pair.rng
        tilt = Rotation.from_rotvec([*(np.radians(0.25) * rng.standard_normal(2)), 0.0])
        datum = Datum.take(pair.on_table(tilt, laid_rad=np.radians(0.026)), DATE)
        for _ in range(4):
            angles = dict(zip("LR", rng.uniform(-20, 20, 2), strict=True))
            ups = {
                name: sim.deflected(sim.X[None], sim.Z[None], np.array([angle]))[0] for name, angle in angles.items()
            }
            now = pair.gravity(ups, warmer_c=float(rng.uniform(-2, 2)))
            low, high = mismatch(
                *(datum.angle(name, now[name], pair.calibrations[name], KNOWN_AXIS) for name in "LR")
            ).interval_deg
            held.append(low <= angles["L"] - angles["R"] <= high)
    assert 0.93 <= np.mean(held) <= 0.97


def test_drift_enters_the_uncertainty(pair: Pair) -> None:
    level = dict.fromkeys("LR", sim.Z)
    datum = Datum.take(pair.gravity(level), DATE)
    gone = {name: sim.deflected(sim.X[None], sim.Z[None], np.array([0.3]))[0] for name in "LR"}
    closed = datum.close(pair.gravity(gone), pair.calibrations)
    assert closed.drift_deg["L"] == pytest.approx(0.3, abs=0.1)
    now = pair.gravity(level)["L"]
    budget = dict(closed.angle("L", now, pair.calibrations["L"]).budget.items())
    assert budget["datum closure"] == pytest.approx(abs(closed.drift_deg["L"]) / np.sqrt(3))


def test_a_datum_holds_as_far_as_hands_lay_it(pair: Pair) -> None:
    """Priors: dust 0.02°, table 0.017°, 0.25° off level by edges 1° off parallel: 0.1129°, three sigma (ISO 7870-2)."""
    datum = Datum.take(pair.gravity(dict.fromkeys("LR", sim.Z)), DATE)
    assert datum.holds is None
    assert datum.closure_limit_deg == pytest.approx(0.1129, abs=0.0001)
    for gone_deg, holds in ((0.11, True), (-0.11, True), (0.115, False), (-3.8, False)):
        assert replace(datum, drift_deg={"L": 0.0, "R": gone_deg}).holds is holds


def test_a_sensor_not_on_its_base_is_named(pair: Pair) -> None:
    with pytest.raises(WrongPose, match=r"sensor R lies upside down.*Lay it on its base"):
        Datum.take(pair.gravity({"L": sim.Z, "R": -sim.Z}), DATE)
    with pytest.raises(WrongPose, match="sensor L is 90° off its base"):
        Datum.take(pair.gravity({"L": sim.X, "R": sim.Z}), DATE)


def test_a_sensor_that_was_not_turned_is_named() -> None:
    pair = Pair(2)
    tilt = Rotation.from_rotvec([np.radians(2), 0, 0])
    first, turned = pair.on_table(tilt), pair.on_table(tilt, 180)
    third = {**first, "X": first["L"]}, {**turned, "R": first["R"], "X": turned["L"]}
    with pytest.raises(WrongPose, match=r"sensor R saw a table 0\.\d+° off level, the others [12]\.\d+°"):
        Datum.take_reversed(*third, DATE)


def test_other_sensors_are_refused(pair: Pair) -> None:
    laid = pair.gravity(dict.fromkeys("LR", sim.Z))
    datum = Datum.take({"L": laid["L"]}, DATE)
    with pytest.raises(OtherSensor, match="sensor R with the calibration of R and a datum of L"):
        datum.angle("R", laid["R"], pair.calibrations["R"])
    with pytest.raises(OtherSensor, match="sensor L with the calibration of R"):
        datum.angle("L", laid["L"], pair.calibrations["R"])
    with pytest.raises(OtherSensor, match="first laid: L, R; turned: L"):
        Datum.take_reversed(laid, {"L": laid["L"]}, DATE)


def test_record_there_and_back(pair: Pair) -> None:
    datum = Datum.take(pair.gravity(dict.fromkeys("LR", sim.Z)), DATE)
    again = Datum.from_dict(json.loads(json.dumps(datum.to_dict())))
    assert again.to_dict() == datum.to_dict()
    with pytest.raises(NewerRecord, match="a datum of format 2, expected at most 1"):
        Datum.from_dict(datum.to_dict() | {"format": 2})
    with pytest.raises(BadRecord, match="expected a datum"):
        Datum.from_dict(pair.calibrations["L"].to_dict())


@pytest.mark.parametrize(("off_deg", "lies"), [(14.5, True), (15.5, False)])
def test_a_carrier_on_its_base_is_less_than_15_degrees_off_level(pair: Pair, off_deg: float, lies: bool) -> None:
    leaned = sim.deflected(sim.X[None], sim.Z[None], np.array([off_deg]))[0]
    laid = pair.gravity({"L": sim.Z, "R": leaned})
    if lies:
        assert set(Datum.take(laid, DATE).gravity) == {"L", "R"}
        return
    with pytest.raises(WrongPose, match=r"sensor R is 1[56]° off its base, expected within 15°"):
        Datum.take(laid, DATE)


@pytest.mark.parametrize(("off_deg", "how"), [(166.0, "lies upside down"), (164.0, "is 164° off its base")])
def test_only_a_lid_that_faces_the_flat_is_upside_down(pair: Pair, off_deg: float, how: str) -> None:
    leaned = sim.deflected(sim.X[None], sim.Z[None], np.array([off_deg]))[0]
    with pytest.raises(WrongPose, match=f"sensor R {how}"):
        Datum.take(pair.gravity({"L": sim.Z, "R": leaned}), DATE)


def test_a_drift_that_is_small_beside_the_laying_is_none() -> None:
    """Laid within 0.01°: three sigma of two layings are 0.042°, less than the 0.05° that are always let pass."""
    datum = Datum({}, 0.25, 0.01, None, DATE)
    assert datum.closure_limit_deg == 0.05
    assert replace(datum, drift_deg={"L": 0.049}).holds
    assert not replace(datum, drift_deg={"L": 0.051}).holds


@pytest.mark.parametrize(("less_deg", "refused"), [(0.0, False), (0.18, False), (0.25, True)])
def test_turned_layings_must_show_one_table(less_deg: float, refused: bool) -> None:
    """A table 1° off, and a sensor that saw it by so much less.

    Five deviations of a mean of two layings, 0.022°, and a tenth of the tilt: 0.21° are let pass.
    """
    pair = Pair(4, worst=False)
    tilt = Rotation.from_rotvec([np.radians(1), 0, 0])
    first, turned = pair.on_table(tilt), pair.on_table(tilt, 180)
    ways = [
        sim.deflected(sim.X[None], turned["L"].vector_g[None], np.array([way * 2 * less_deg]))[0] for way in (1, -1)
    ]
    nearer = min(ways, key=lambda up: float(np.linalg.norm(up - first["L"].vector_g)))
    layings = {**first, "X": first["L"]}, {**turned, "X": replace(turned["L"], vector_g=nearer)}
    if not refused:
        Datum.take_reversed(*layings, DATE)
        return
    with pytest.raises(WrongPose, match="sensor X saw a table"):
        Datum.take_reversed(*layings, DATE)
