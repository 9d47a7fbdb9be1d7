"""Temperature: the coefficient from two or more temperatures, and warm-up."""

from __future__ import annotations

import numpy as np
import pytest

from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError, MissingTemperature
from hingeline_calibration.hinge import deflection
from hingeline_calibration.still import Reading
from hingeline_calibration.temperature import fit_tempco, warm_up

from . import simulate as sim

REPEAT_COUNTS = 0.1e-3 * 16384
"""What the simulated MPU-6050 repeats to."""


def bench(seed: int) -> tuple[sim.Benches, np.random.Generator, Calibration]:
    rng = np.random.default_rng(seed)
    benches = sim.draw(rng, 1, worst=True)
    return benches, rng, sim.calibrated(benches, sim.poses_of(benches, rng, sim.POSES["12+6"])[0])


def soak(benches: sim.Benches, rng: np.random.Generator, warmer_c: list[float]) -> list[Reading]:
    """Readings of a sensor left on its base at several temperatures."""
    ups = np.tile(sim.Z, (1, len(warmer_c), 1))
    return sim.readings(benches, rng, ups, seconds=5.0, warmer_c=np.array([warmer_c]))[0]


@pytest.mark.parametrize("warmer_c", [[0.0, 12.0], [-3.0, 0.0, 4.0, 9.0, 14.0]])
def test_coefficient_within_its_deviation(warmer_c: list[float]) -> None:
    """Root mean square of (found - true) over stated is 1."""
    ratios = []
    for seed in range(60):
        benches, rng, _ = bench(seed)
        found = fit_tempco(soak(benches, rng, warmer_c), REPEAT_COUNTS)
        true = benches.tempco_g[0] * benches.chip.counts_per_g
        ratios.append((found.counts_per_c - true) / found.deviation_counts_per_c)
    assert np.sqrt(np.mean(np.square(ratios))) == pytest.approx(1.0, abs=0.15)


def test_gum_h3_thermometer() -> None:
    """JCGM 100:2008, H.3: slope and its standard deviation from the scatter.

    H.3.3 prints two and three digits: y2 = 0.002 18, s(y2) = 0.000 67. The further ones are computed from its table
    H.6 by numpy's polyfit.
    """
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    found = fit_tempco(
        [Reading(np.full(3, y), np.eye(3) * 1e-12, x, 1.0, 50, 0.0) for x, y in zip(t, b, strict=True)], 0.0
    )
    assert [f"{value:.5f}" for value in found.counts_per_c] == ["0.00218"] * 3
    assert [f"{value:.5f}" for value in found.deviation_counts_per_c] == ["0.00067"] * 3
    assert found.counts_per_c == pytest.approx([0.0021827] * 3, abs=5e-8)
    assert found.deviation_counts_per_c == pytest.approx([0.00066794] * 3, abs=5e-9)


def test_a_measured_coefficient_takes_the_temperature_out() -> None:
    """10 °C warmer since neutral: off by half a degree without, within the noise with it, each as stated."""
    benches, rng, plain = bench(1)
    measured = plain.with_tempco(fit_tempco(soak(benches, rng, [0.0, 12.0]), REPEAT_COUNTS))
    shown = sim.readings(benches, rng, np.tile(sim.Z, (1, 2, 1)), warmer_c=np.array([[0.0, 10.0]]))[0]
    before, after = (deflection(*map(c.gravity, shown), c) for c in (plain, measured))
    assert abs(before.deflection_deg) > 0.2
    assert before.budget.rows[0].source == "temperature"
    assert abs(after.deflection_deg) < 0.1
    for seen in (before, after):
        assert seen.interval_deg[0] <= 0 <= seen.interval_deg[1]


def test_without_temperature_there_is_no_coefficient() -> None:
    reading = Reading(np.zeros(3), np.eye(3), None, 1.0, 50, 0.0)
    with pytest.raises(MissingTemperature, match="1 of 1 readings without temperature"):
        fit_tempco([reading], 0.0)


def test_too_small_a_span_is_refused() -> None:
    benches, rng, _ = bench(2)
    with pytest.raises(CalibrationError, match=r"temperatures over 2\.0 °C, expected at least 3"):
        fit_tempco(soak(benches, rng, [0.0, 2.0]), 0.0)


def test_a_measured_coefficient_needs_temperatures() -> None:
    benches, rng, plain = bench(3)
    measured = plain.with_tempco(fit_tempco(soak(benches, rng, [0.0, 12.0]), REPEAT_COUNTS))
    blind = Reading(np.array([0.0, 0.0, 16384.0]), np.eye(3), None, 1.0, 50, 0.0)
    with pytest.raises(MissingTemperature, match="without temperature, expected one"):
        measured.gravity(blind)


def test_warm_up_of_a_known_time_constant() -> None:
    """From 21 to 27 °C with 4 minutes: within 0.5 °C after 240 ln 12 s."""
    rng = np.random.default_rng(4)
    times = np.arange(0, 900, 5.0)
    found = warm_up(times, 27 - 6 * np.exp(-times / 240) + 0.05 * rng.standard_normal(times.size))
    assert found.final_c == pytest.approx(27, abs=0.05)
    assert found.time_constant_s == pytest.approx(240, rel=0.05)
    assert found.settled_after_s(0.5) == pytest.approx(240 * np.log(12), rel=0.05)
    assert found.settled_after_s(10.0) == 0.0


def test_a_chip_that_is_warm_already_is_settled() -> None:
    assert warm_up([0.0, 100.0, 200.0, 300.0, 400.0], [25.0] * 5).settled_after_s(0.5) == 0.0
