"""The bench's rotations beside scipy's."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation as Reference

from hingeline_virtual.rotation import Rotation

RANDOM = np.random.default_rng(4)
VECTORS = [
    *RANDOM.normal(size=(20, 3)),
    *(np.pi * np.eye(3)),  # half turns: a carrier laid on its opposite face
    np.zeros(3),
    np.array([1e-14, 0, 0]),
]


@pytest.mark.parametrize("vector", VECTORS)
def test_a_turn_does_as_scipys(vector):
    ours, reference = Rotation.from_rotvec(vector), Reference.from_rotvec(vector)
    other = RANDOM.normal(size=3)
    assert ours.as_matrix() == pytest.approx(reference.as_matrix(), abs=1e-14)
    assert ours.apply(other) == pytest.approx(reference.apply(other), abs=1e-14)
    assert ours.inv().apply(other) == pytest.approx(reference.inv().apply(other), abs=1e-14)
    # half turns either way are one
    assert Reference.from_rotvec(ours.as_rotvec()).as_matrix() == pytest.approx(reference.as_matrix(), abs=1e-14)
    both, reference = ours * Rotation.from_rotvec(other), reference * Reference.from_rotvec(other)
    assert both.as_matrix() == pytest.approx(reference.as_matrix(), abs=1e-14)


@pytest.mark.parametrize(("axes", "angles"), [("X", 30.0), ("ZY", [10.0, -20.0]), ("ZXY", [250.0, 3.0, -8.0])])
def test_turns_one_after_the_other_do_as_scipys(axes, angles):
    ours = Rotation.from_euler(axes, angles, degrees=True)
    assert ours.as_matrix() == pytest.approx(Reference.from_euler(axes, angles, degrees=True).as_matrix(), abs=1e-14)
