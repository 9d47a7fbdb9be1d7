"""Chip models as a driver would meet them, each against what its datasheet says: what all of them have in common."""

import math

import numpy as np
import pytest
from tests.virtual.chip_facts import FACTS, Around, Driver

from hingeline_virtual.chips import CHIPS
from hingeline_virtual.commands import Spoil

CHIP = pytest.mark.parametrize("name", FACTS)


def test_every_chip_has_its_facts():
    assert set(FACTS) == set(CHIPS)


@CHIP
def test_it_says_who_it_is(name):
    register, value = FACTS[name].identity
    assert Driver(name).chip.read(register, 1, 0.0) == bytes([value])
    assert Driver(name, identity=0x5A).chip.read(register, 1, 0.0) == b"\x5a"


@pytest.mark.parametrize("name", [name for name in FACTS if name not in ("mpu6500", "scl3300")])
def test_it_measures_nothing_until_it_is_set_up(name):
    driver = Driver(name)
    np.testing.assert_array_equal(driver.counts(3.0), [0, 0, 0])
    assert driver.set_up(3.0).counts(4.0)[2] > 0


@CHIP
@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("sign", [1, -1])
def test_one_g_on_each_axis(name, axis, sign):
    facts = FACTS[name]
    driver = Driver(name, Around(sign * np.eye(3)[axis])).set_up()
    expected = sign * facts.counts_per_g * np.eye(3)[axis]
    sd = facts.counts_per_g * max(facts.noise_ug) * 1e-6 * math.sqrt(facts.filter_hz * math.pi / 2)
    np.testing.assert_allclose(driver.many(400).mean(axis=0), expected, atol=max(sd, 1.0))


@CHIP
def test_written_registers_read_back(name):
    driver = Driver(name).set_up()
    for register, value in FACTS[name].writes:
        assert driver.chip.read(register, 1, 0.1)[0] == value


@CHIP
def test_identity_and_data_can_not_be_written(name):
    driver = Driver(name).set_up()
    register, value = FACTS[name].identity
    driver.chip.write(register, b"\x00", 0.1)
    assert driver.chip.read(register, 1, 0.1)[0] == value


@CHIP
def test_noise_is_the_datasheets_density_through_the_filter(name):
    facts = FACTS[name]
    counts = Driver(name).set_up().many(4000)
    expected_g = np.array(facts.noise_ug) * 1e-6 * math.sqrt(facts.filter_hz * math.pi / 2)
    step_g = facts.step / facts.counts_per_g
    expected_g = np.sqrt(expected_g**2 + step_g**2 / 12)
    np.testing.assert_allclose(counts.std(axis=0) / facts.counts_per_g, expected_g, rtol=0.1)


@CHIP
def test_truths_of_bias_scale_cross_axis_and_temperature(name):
    facts = FACTS[name]
    force = np.array([0.6, -0.3, 0.7])
    driver = Driver(
        name, Around(force, celsius=45.0), noise_ug=(0, 0, 0), bias_mg=(50, -60, 80), scale_percent=(3, -2, 1),
        cross_axis_percent=(2, -1, 0.5, 1, -2, 1.5), tempco_mg_c=(1, -0.5, 2),
    ).set_up()  # fmt: skip
    x, y, z = force
    expected = [
        1.03 * x + 0.02 * y - 0.01 * z + 0.050 + 0.020,
        0.005 * x + 0.98 * y + 0.01 * z - 0.060 - 0.010,
        -0.02 * x + 0.015 * y + 1.01 * z + 0.080 + 0.040,
    ]
    np.testing.assert_allclose(
        driver.counts(1.0) / facts.counts_per_g, expected, atol=0.51 / min(facts.counts_per_g, 1000)
    )


@CHIP
def test_a_chip_turned_in_its_carrier_sees_the_carriers_up_in_its_own_axes(name):
    # A quarter turn of the chip about the carrier's z: what points along the carrier's y lies along the chip's x.
    driver = Driver(name, Around(np.array([0.0, 1.0, 0.0])), chip_turn_deg=(0, 0, 90), noise_ug=(0, 0, 0)).set_up()
    np.testing.assert_allclose(driver.counts(1.0) / FACTS[name].counts_per_g, [1, 0, 0], atol=1e-3)


def test_a_chip_is_otherwise_once_spoilt_and_as_before_once_restored():
    """Turned by 90° about z, then 2 % more along x; 10 mg along y at once, and 3 mg/s along z from 1 s on."""
    driver = Driver("mpu6050", Around(np.array([0.3, 0.5, 0.7])), noise_ug=(0, 0, 0)).set_up()
    before = driver.counts(0.5)
    driver.chip.spoil(
        Spoil(
            do="spoil", sensor="s", turn_deg=(0, 0, 90), scale_percent=(2, 0, 0), bias_mg=(0, 10, 0),
            drift_mg_s=(0, 0, 3),
        ),
        since_s=1.0,
    )  # fmt: skip
    np.testing.assert_allclose(driver.counts(3.0) / 16384, [0.51, -0.29, 0.706], atol=1e-4)
    driver.chip.restore()
    np.testing.assert_array_equal(driver.counts(4.0), before)


def test_a_clock_that_runs_fast_paces_its_samples():
    driver = Driver("mpu6050", clock_percent=2).set_up()
    np.testing.assert_array_equal(driver.counts(50.1 / 102), driver.counts(50.9 / 102))
    assert (driver.counts(51.1 / 102) != driver.counts(52.1 / 102)).any()


@CHIP
def test_it_saturates_at_its_range(name):
    driver = Driver(name, Around(np.array([19.0, -19.0, 0.0])), noise_ug=(0, 0, 0)).set_up()
    got_g = driver.counts(1.0) / FACTS[name].counts_per_g
    assert got_g[0] == pytest.approx(FACTS[name].range_g, rel=0.03)
    assert got_g[1] == pytest.approx(-FACTS[name].range_g, rel=0.03)


@pytest.mark.parametrize("name", [name for name in FACTS if FACTS[name].temperature])
@pytest.mark.parametrize("celsius", [-10.0, 21.0, 60.0])
def test_thermometer(name, celsius):
    assert Driver(name, Around(celsius=celsius)).set_up().celsius(1.0) == pytest.approx(celsius, abs=0.5)


@CHIP
def test_a_sample_stands_until_the_next(name):
    driver = Driver(name).set_up()
    period_s = 1 / FACTS[name].rate_hz
    np.testing.assert_array_equal(driver.counts(10.1 * period_s), driver.counts(10.9 * period_s))
    assert (driver.counts(11.1 * period_s) != driver.counts(12.1 * period_s)).any()


@CHIP
def test_same_seed_and_times_give_the_same_counts(name):
    np.testing.assert_array_equal(Driver(name).set_up().many(50), Driver(name).set_up().many(50))
