"""Rank and condition of sets of poses, and what happens below full rank.

The model of |gravity|: Tedaldi, Pretto, Menegatti, ICRA 2014, eq. 10 (from memory), which prints none of these figures.
Ranks follow from symmetry: faces see no products of two axes, corners no differences of squares. Conditions and
deviations are computed for this check, to the digits that stand here.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from hingeline_calibration.errors import MissingDirections
from hingeline_calibration.observability import norm_model

from . import simulate as sim

FACES = np.array([sign * np.eye(3)[axis] for axis in range(3) for sign in (1, -1)])
CORNERS = np.array(list(product((1, -1), repeat=3))) / np.sqrt(3)
EDGES = np.array([v for v in product((1, 0, -1), repeat=3) if np.count_nonzero(v) == 2]) / np.sqrt(2)
THREE_EDGES = np.array([(1, 1, 0), (1, 0, 1), (0, 1, 1)]) / np.sqrt(2)


@pytest.mark.parametrize(
    ("ups", "rank", "condition"),
    [
        (FACES, 6, np.inf),
        (CORNERS, 7, np.inf),
        (EDGES, 9, 2.0),
        (np.vstack([FACES, THREE_EDGES]), 9, 7.3),
        (np.vstack([FACES, EDGES]), 9, 2.45),
    ],
    ids=["6 faces", "8 corners", "12 edges", "6 faces, 3 edges", "6 faces, 12 edges"],
)
def test_rank_and_condition(ups: object, rank: int, condition: float) -> None:
    model = norm_model(ups)
    assert model.rank == rank
    assert model.condition == pytest.approx(condition, abs=0.05)


def test_deviations_of_eighteen_poses() -> None:
    """Per unit of noise: 1.00 (misalignment), 0.53 (scale), 0.41 (bias)."""
    scale, shear, bias = norm_model(np.vstack([FACES, EDGES])).deviations.reshape(3, 3)
    assert shear == pytest.approx(1.00, abs=0.005)
    assert scale == pytest.approx(0.53, abs=0.005)
    assert bias == pytest.approx(0.41, abs=0.005)


def test_names_of_what_gravity_alone_does_not_see() -> None:
    assert norm_model(FACES).missing == ("shear xy", "shear xz", "shear yz")
    assert norm_model(np.vstack([FACES, THREE_EDGES[:1]])).missing == ("shear xz", "shear yz")
    assert norm_model(np.vstack([FACES, THREE_EDGES])).missing == ()


@pytest.mark.parametrize(
    ("poses", "missing"),
    [
        (sim.SIX[:4], {"scale z"}),
        (sim.SIX[0:5:2], {"scale x", "scale y", "scale z", "bias x", "bias y", "bias z"}),
        ((sim.SIX[0], sim.SIX[4], sim.EDGES[2]), {"scale y", "bias x", "bias z"}),
    ],
    ids=["four faces", "three faces", "three poses in one plane"],
)
def test_open_sets_are_refused_with_names(poses: tuple[sim.Pose, ...], missing: set[str]) -> None:
    rng = np.random.default_rng(1)
    benches = sim.draw(rng, 1)
    with pytest.raises(MissingDirections, match="leave open") as caught:
        sim.calibrated(benches, sim.poses_of(benches, rng, poses)[0])
    assert missing <= set(caught.value.directions)


def test_a_face_that_is_missing_is_solved_with_the_priors_and_named() -> None:
    """Five faces: the bias of z comes from the other faces' tilts, so it is as uncertain as they are."""
    rng = np.random.default_rng(5)
    benches = sim.draw(rng, 1)
    five = sim.calibrated(benches, sim.poses_of(benches, rng, sim.SIX[:5])[0])
    six = sim.calibrated(benches, sim.poses_of(benches, rng, sim.SIX)[0])
    assert {"scale z", "bias z"} <= set(five.priors_decide)
    assert five.covariance[11, 11] > 100 * six.covariance[11, 11]


def test_leaned_rests_stand_in_for_a_missing_face() -> None:
    """Five faces and the leaned ones determine all: the face that is missing is no reason to refuse."""
    rng = np.random.default_rng(2)
    benches = sim.draw(rng, 1)
    calibration = sim.calibrated(benches, sim.poses_of(benches, rng, (*sim.SIX[:5], *sim.EDGES))[0])
    error_mg = 1e3 * (calibration.bias_counts / calibration.counts_per_g - benches.offset_g[0])
    assert np.abs(error_mg).max() < 3


def test_faces_alone_leave_the_shear_to_the_priors_and_say_so() -> None:
    rng = np.random.default_rng(3)
    benches = sim.draw(rng, 1)
    six = sim.calibrated(benches, sim.poses_of(benches, rng, sim.SIX)[0])
    full = sim.calibrated(benches, sim.poses_of(benches, rng, sim.POSES["12+6"])[0])
    assert six.priors_decide == ("shear xy", "shear xz", "shear yz")
    assert full.priors_decide == ()
