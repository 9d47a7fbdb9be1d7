"""Temperature: the coefficient from two or more temperatures, warm-up, and cautions."""

from __future__ import annotations

import numpy as np
import pytest

from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.drift import cautions, fit_tempco, warm_up
from hingeline_calibration.errors import CalibrationError, MissingTemperature
from hingeline_calibration.hinge import deflection
from hingeline_calibration.still import Reading

from . import simulate as sim

DATE = "2026-03-01T10:00:00+00:00"


def bench(seed: int) -> tuple[sim.Benches, np.random.Generator, Calibration]:
    rng = np.random.default_rng(seed)
    benches = sim.draw(rng, 1, worst=True)
    return benches, rng, sim.calibrated(benches, sim.poses_of(benches, rng, sim.POSES["12+6"])[0])


def soak(benches: sim.Benches, rng: np.random.Generator, warmer_c: list[float]) -> list[Reading]:
    """Windows of a sensor left on its base at several temperatures."""
    ups = np.tile(sim.Z, (1, len(warmer_c), 1))
    return sim.readings(benches, rng, ups, seconds=5.0, warmer_c=np.array([warmer_c]))[0]


@pytest.mark.parametrize("warmer_c", [[0.0, 12.0], [-3.0, 0.0, 4.0, 9.0, 14.0]])
def test_coefficient_within_its_deviation(warmer_c: list[float]) -> None:
    """Root mean square of (found - true) over stated is 1."""
    ratios = []
    for seed in range(60):
        benches, rng, _ = bench(seed)
        found = fit_tempco(soak(benches, rng, warmer_c))
        true = benches.tempco_g[0] * benches.chip.counts_per_g
        ratios.append((found.counts_per_c - true) / found.deviation_counts_per_c)
    assert np.sqrt(np.mean(np.square(ratios))) == pytest.approx(1.0, abs=0.15)


def test_a_measured_coefficient_takes_the_temperature_out() -> None:
    """10 °C warmer since neutral: off by half a degree without, within the noise with it, each as stated."""
    benches, rng, plain = bench(1)
    measured = plain.with_tempco(fit_tempco(soak(benches, rng, [0.0, 12.0])))
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
        fit_tempco([reading])


def test_too_small_a_span_is_refused() -> None:
    benches, rng, _ = bench(2)
    with pytest.raises(CalibrationError, match=r"temperatures over 2\.0 °C, expected at least 3"):
        fit_tempco(soak(benches, rng, [0.0, 2.0]))


def test_a_measured_coefficient_needs_temperatures() -> None:
    benches, rng, plain = bench(3)
    measured = plain.with_tempco(fit_tempco(soak(benches, rng, [0.0, 12.0])))
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


def test_cautions() -> None:
    _, _, calibration = bench(5)
    datum = Datum.take({}, DATE)
    assert cautions(calibration, 25.5, datum, "2026-03-01T18:00:00+00:00") == ()
    warm, old = cautions(calibration, 33.0, datum, "2026-03-03T10:00:00+00:00")
    assert "8.0 °C warmer than when calibrated" in warm
    assert "datum is 48 hours old" in old
    (cold,) = cautions(calibration, 15.0)
    assert "10.0 °C colder" in cold
