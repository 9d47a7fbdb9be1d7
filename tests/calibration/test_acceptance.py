"""What makes a calibration poor, each fault simulated and named."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from hingeline_calibration.acceptance import check_fresh, judge, refuse_poor
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import PoorCalibration

from . import simulate as sim

FRESH = [(None, up) for up in ((1, 1, 1), (-1, 1, 2), (2, -1, -1))]


def calibration_of(benches: sim.Benches, seed: int = 1, poses: str = "12+6") -> Calibration:
    return sim.calibrated(benches, sim.poses_of(benches, np.random.default_rng(seed), sim.POSES[poses])[0])


def bench(seed: int = 1, **changes: object) -> sim.Benches:
    return replace(sim.draw(np.random.default_rng(seed), 1, worst=True), **changes)


@pytest.mark.parametrize("chip", ["mpu6050", "lis3dh", "icm42688", "adxl355", "adxl345", "lsm6ds3", "lsm6dsox"])
def test_every_chip_at_its_limits_is_accepted(chip: str) -> None:
    """Two seeds a chip, errors at the datasheet's limits, carrier and table as bad as the priors say."""
    for seed in range(2):
        rng = np.random.default_rng(seed)
        benches = sim.draw(rng, 1, chip, worst=True)
        calibration = sim.calibrated(benches, sim.poses_of(benches, rng, sim.POSES["12+6"])[0])
        assert judge(calibration) == ()
        assert check_fresh(calibration, sim.readings(benches, rng, sim.ups_of(benches, rng, FRESH))[0]) == ()


def test_offset_of_a_cracked_chip() -> None:
    reasons = judge(calibration_of(bench(offset_g=np.array([[0.01, -0.02, 0.15]]))))
    assert reasons
    assert [reason for reason in reasons if reason.startswith("offset of axis z is +150")]


def test_wrong_range() -> None:
    """A chip left at a sensitivity 10 % away from the one it tells."""
    reasons = judge(calibration_of(bench(matrix=1.1 * np.eye(3)[None])))
    assert len([reason for reason in reasons if reason.startswith("scale of axis")]) == 3


def test_swapped_axes_of_a_stored_calibration() -> None:
    calibration = calibration_of(bench())
    swapped = replace(calibration, matrix_counts_per_g=calibration.matrix_counts_per_g[[1, 0, 2]])
    assert any("answers to y of the carrier: swapped axes" in reason for reason in judge(swapped))


def test_non_linear_chip_shows_in_the_residual() -> None:
    """Cubic error of 1 % at 1 g: the model can't follow it where poses are leaned."""
    benches = bench()
    rng = np.random.default_rng(3)
    taken = sim.poses_of(benches, rng, sim.POSES["12+6"])[0]
    bent = []
    for pose in taken:
        relative = pose.reading.mean_counts / benches.chip.counts_per_g
        reading = replace(pose.reading, mean_counts=pose.reading.mean_counts * (1 + 0.01 * relative**2))
        bent.append(replace(pose, reading=reading))
    reasons = judge(sim.calibrated(benches, bent))
    assert any("|gravity| of the poses is off by" in reason for reason in reasons)


def test_fresh_orientations_find_a_chip_that_has_changed() -> None:
    """An offset that moved by 10 mg since: dropped, or soldered again."""
    benches = bench()
    calibration = calibration_of(benches)
    rng = np.random.default_rng(4)
    changed = replace(benches, offset_g=benches.offset_g + 0.01)
    fresh = sim.ups_of(benches, rng, FRESH)
    assert check_fresh(calibration, sim.readings(benches, rng, fresh)[0]) == ()
    reasons = check_fresh(calibration, sim.readings(changed, rng, fresh)[0])
    assert "fresh orientation 1: |gravity| is off by +1" in reasons[0]


def test_a_face_that_was_not_turned_on_its_spot() -> None:
    """Table 0.5° off; the second pose of +y was laid as the first."""
    benches = replace(bench(), tilt_rad=np.radians([[0.5, 0.0]]))
    poses = list(sim.TWELVE)
    taken = sim.poses_of(benches, np.random.default_rng(5), [*poses[:5], ("+y", 0.0), *poses[6:]])[0]
    taken[5] = replace(taken[5], yaw_deg=180.0)
    reasons = judge(sim.calibrated(benches, taken))
    assert any(reason.startswith("the table's tilt is 0.0") for reason in reasons)


def test_a_poor_one_is_refused_or_kept_marked() -> None:
    calibration = calibration_of(bench(offset_g=np.array([[0.13, 0.0, 0.0]])))
    reasons = judge(calibration)
    with pytest.raises(PoorCalibration, match=r"offset of axis x is \+1[23]\d\.\d mg.*--accept") as caught:
        refuse_poor(reasons)
    kept = calibration.marked_poor(caught.value.reasons)
    assert Calibration.from_dict(kept.to_dict()).poor == reasons


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("offset_mg", "is_poor"), [(118.0, False), (122.0, True)])
def test_half_as_much_again_as_the_datasheet_allows_is_let_pass(sign: int, offset_mg: float, is_poor: bool) -> None:
    """The MPU-6050's z is off by 80 mg at most: 120 mg."""
    calibration = calibration_of(bench())
    offset_counts = np.array([0.0, 0.0, sign * offset_mg / 1000 * calibration.counts_per_g])
    reasons = judge(replace(calibration, bias_counts=offset_counts))
    assert any(reason.startswith("offset of axis z") for reason in reasons) is is_poor
