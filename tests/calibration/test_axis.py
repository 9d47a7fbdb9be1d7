"""The hinge's direction from a sweep, against the standard deviations that its noise leaves at best."""

from __future__ import annotations

import numpy as np
import pytest

from hingeline_calibration.axis import find_axis
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis

from . import simulate as sim

NOISE_G = 1e-3
POSES = 21
EXACT = sim.exact()
UNKNOWN = HingeAxis(yaw_sd_deg=1e6, elevation_sd_deg=1e6)
"""Nothing is known without the sweep."""


def sweep(rng: np.random.Generator, most_deg: float, hinge: np.ndarray, neutral: np.ndarray) -> list[Gravity]:
    angles = np.linspace(-most_deg, most_deg, POSES)
    ups = sim.deflected(np.tile(hinge, (POSES, 1)), np.tile(neutral, (POSES, 1)), angles)
    shown = ups + NOISE_G * rng.standard_normal(ups.shape)
    return [Gravity(up, np.eye(3) * NOISE_G**2, 25.0, 0.0, 1.0) for up in shown]


SWEEPS = 500
FOUR_SIGMAS = 4 / np.sqrt(2 * SWEEPS)
"""Of the scatter of as many sweeps."""


@pytest.mark.parametrize(
    ("most_deg", "yaw_deg", "elevation_deg"),
    [(10, 0.1187, 2.518), (20, 0.0599, 0.634), (30, 0.0406, 0.285)],
)
def test_deviations_are_those_of_least_squares(most_deg: float, yaw_deg: float, elevation_deg: float) -> None:
    """Sweep ±A, 21 poses, 1 mg: what many sweeps scatter, and what each states of itself.

    The figures are computed for this check, and printed nowhere: a line through noisy heights (any textbook) has the
    slope's deviation σ/(√N std), here with sin φ beside the hinge and cos φ along it. The elevation of a short sweep is
    not quite linear in them: a tenth is left for it.
    """
    rng = np.random.default_rng(1)
    axes = [find_axis(sweep(rng, most_deg, sim.X, sim.Z), EXACT, UNKNOWN) for _ in range(SWEEPS)]
    directions = np.array([axis.direction for axis in axes])
    yaws = np.degrees(np.arctan2(directions[:, 1], directions[:, 0]))
    elevations = np.degrees(np.arcsin(directions[:, 2]))
    stated = np.median([(axis.yaw_sd_deg, axis.elevation_sd_deg) for axis in axes], axis=0)
    scatter = np.sqrt(np.mean([yaws**2, elevations**2], axis=1))
    print(scatter / (yaw_deg, elevation_deg), stated / (yaw_deg, elevation_deg))
    for least_deg, scatter_deg, stated_deg in zip((yaw_deg, elevation_deg), scatter, stated, strict=True):
        assert 1 - FOUR_SIGMAS <= scatter_deg / least_deg <= 1.1 + FOUR_SIGMAS
        assert 0.98 <= stated_deg / least_deg <= 1.1


def test_noise_tells_nothing_of_the_elevation() -> None:
    """Sweep ±3°: cos φ scatters by 4.1e-4, so 21 poses of 1 mg leave 30°, and 16.7° where 20° were known before.

    The noise of a line looks as a turn of 1e-3, too: counted as one, it would leave less than 10°.
    """
    rng = np.random.default_rng(6)
    laid_on = HingeAxis(yaw_sd_deg=5.0, elevation_sd_deg=20.0)
    stated_deg = [find_axis(sweep(rng, 3, sim.X, sim.Z), EXACT, laid_on).elevation_sd_deg for _ in range(60)]
    assert 14.5 < np.median(stated_deg) < 19.0


def test_a_sensor_yawed_20_degrees_is_found_out() -> None:
    """What a sceptic tries: yawed 20°."""
    rng = np.random.default_rng(2)
    hinge = np.array([np.cos(np.radians(20)), np.sin(np.radians(20)), 0.0])
    axis = find_axis(sweep(rng, 30, hinge, sim.Z), EXACT, UNKNOWN)
    assert np.degrees(np.arctan2(axis.direction[1], axis.direction[0])) == pytest.approx(20, abs=4 * axis.yaw_sd_deg)


@pytest.mark.parametrize("yaw_deg", [-25.0, 25.0])
@pytest.mark.parametrize("elevation_deg", [-12.0, 12.0])
def test_a_hinge_that_is_yawed_and_raised_is_found(yaw_deg: float, elevation_deg: float) -> None:
    """Its direction by yaw and elevation; up at neutral is anything that is not along it."""
    yaw, elevation = np.radians([yaw_deg, elevation_deg])
    hinge = np.array([np.cos(elevation) * np.cos(yaw), np.cos(elevation) * np.sin(yaw), np.sin(elevation)])
    axis = find_axis(sweep(np.random.default_rng(4), 30, hinge, sim.Z), EXACT, UNKNOWN)
    direction = np.array(axis.direction)
    assert np.degrees(np.arctan2(direction[1], direction[0])) == pytest.approx(yaw_deg, abs=4 * axis.yaw_sd_deg)
    assert np.degrees(np.arcsin(direction[2])) == pytest.approx(elevation_deg, abs=4 * axis.elevation_sd_deg)
    assert axis.yaw_sd_deg < 0.2
    assert axis.elevation_sd_deg < 1.0


def test_too_little_is_refused() -> None:
    rng = np.random.default_rng(3)
    with pytest.raises(CalibrationError, match="3 positions, expected at least 4"):
        find_axis(sweep(rng, 30, sim.X, sim.Z)[:3], EXACT, UNKNOWN)
    with pytest.raises(CalibrationError, match=r"a sweep of [34]\.\d°, expected at least 5°"):
        find_axis(sweep(rng, 2, sim.X, sim.Z), EXACT, UNKNOWN)


def test_an_axis_of_the_chip_that_is_noisier_does_not_raise_the_hinge() -> None:
    """Up's noise of one carrier axis three times that of the others, as in some chips, and a hinge 10° out of the base.

    On the mean of many sweeps nothing of it stays (errors in variables): four deviations of that mean.
    """
    rng, noise_g = np.random.default_rng(5), NOISE_G * np.array([1.0, 1.0, 3.0])
    hinge = np.array([np.cos(np.radians(10)), 0.0, np.sin(np.radians(10))])
    ups = sim.deflected(np.tile(hinge, (POSES, 1)), np.tile(sim.Z, (POSES, 1)), np.linspace(-20, 20, POSES))
    found_deg = []
    for _ in range(200):
        shown = ups + noise_g * rng.standard_normal(ups.shape)
        axis = find_axis([Gravity(up, np.diag(noise_g**2), 25.0, 0.0, 1.0) for up in shown], EXACT, UNKNOWN)
        found_deg.append(np.degrees(np.arcsin(axis.direction[2])))
    assert np.mean(found_deg) == pytest.approx(10.0, abs=4 * np.std(found_deg) / np.sqrt(len(found_deg)))


def test_few_positions_that_scatter_more_than_they_say_widen_what_is_stated() -> None:
    """Six positions, three times noisier than stated: what they tell of that has three degrees less (any textbook)."""
    rng, noise_g = np.random.default_rng(7), 3 * NOISE_G
    ups = sim.deflected(np.tile(sim.X, (6, 1)), np.tile(sim.Z, (6, 1)), np.linspace(-30, 30, 6))
    yaws_deg, stated_deg = [], []
    for _ in range(300):
        shown = ups + noise_g * rng.standard_normal(ups.shape)
        axis = find_axis([Gravity(up, np.eye(3) * NOISE_G**2, 25.0, 0.0, 1.0) for up in shown], EXACT, UNKNOWN)
        yaws_deg.append(np.degrees(np.arctan2(axis.direction[1], axis.direction[0])))
        stated_deg.append(axis.yaw_sd_deg)
    assert np.sqrt(np.mean(np.square(stated_deg))) == pytest.approx(np.std(yaws_deg), rel=4 / np.sqrt(2 * 300))
