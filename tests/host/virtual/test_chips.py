"""Chip models against the register facts of check-values.md, as a driver would meet them.

Each row is what the datasheet tells a driver to write, and where it then finds what.
"""

import math
from dataclasses import dataclass, field

import numpy as np
import pytest

from hingeline.virtual.bus import HANGS, NO_ACKNOWLEDGE, BusError, Buses, Slot
from hingeline.virtual.chips import CHIPS
from hingeline.virtual.commands import Fault, Mend, Spoil
from hingeline.virtual.truths import Sensor


@dataclass
class Around:
    """What a chip feels, told directly."""

    force: np.ndarray = field(default_factory=lambda: np.array([0.0, 0.0, 1.0]))
    celsius: float = 25.0

    def force_g(self, sensor, time_s):
        return self.force

    def temperature_c(self, sensor, time_s):
        return self.celsius


@dataclass(frozen=True)
class Facts:
    """One row of check-values.md, section cheap accelerometers."""

    identity: tuple[int, int]
    writes: tuple[tuple[int, int], ...]
    data: int
    width: int
    order: str
    shift: int
    counts_per_g: float
    rate_hz: float
    filter_hz: float
    noise_ug: tuple[float, float, float]
    temperature: tuple[int, str, float, float] | None


FACTS = {
    "mpu6050": Facts(
        identity=(0x75, 0x68),
        writes=((0x6B, 0x01), (0x1A, 0x03), (0x19, 0x09), (0x1C, 0x00)),
        data=0x3B, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=44,
        noise_ug=(400, 400, 400), temperature=(0x41, "big", 1 / 340, 36.53),
    ),
    "lis3dh": Facts(
        identity=(0x0F, 0x33),
        writes=((0x20, 0x57), (0x23, 0x88), (0x1F, 0xC0)),
        data=0x28 | 0x80, width=2, order="little", shift=0, counts_per_g=16000, rate_hz=100, filter_hz=100 / 9,
        noise_ug=(220, 220, 220), temperature=(0x0C | 0x80, "little", 1 / 256, 25.0),
    ),
    # RM-MPU-6500A (memory): awake after power-on, accelerometer low-pass in 0x1D, 333.87 digits/°C from 21 °C.
    "mpu6500": Facts(
        identity=(0x75, 0x70),
        writes=((0x6B, 0x01), (0x1D, 0x03), (0x19, 0x09), (0x1C, 0x00)),
        data=0x3B, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=44.8,
        noise_ug=(300, 300, 300), temperature=(0x41, "big", 1 / 333.87, 21.0),
    ),
    "adxl345": Facts(
        identity=(0x00, 0xE5),
        writes=((0x2C, 0x0A), (0x31, 0x08), (0x2D, 0x08)),
        data=0x32, width=2, order="little", shift=0, counts_per_g=256, rate_hz=100, filter_hz=50,
        noise_ug=(290, 290, 430), temperature=None,
    ),
    # Bandwidth of the anti-aliasing filter at 104 Hz: data sheet (memory).
    "lsm6ds3": Facts(
        identity=(0x0F, 0x69),
        writes=((0x10, 0x40), (0x12, 0x44)),
        data=0x28, width=2, order="little", shift=0, counts_per_g=1000 / 0.061, rate_hz=104, filter_hz=50,
        noise_ug=(90, 90, 90), temperature=(0x20, "little", 1 / 16, 25.0),
    ),
    "lsm6ds3trc": Facts(
        identity=(0x0F, 0x6A),
        writes=((0x10, 0x40), (0x12, 0x44)),
        data=0x28, width=2, order="little", shift=0, counts_per_g=1000 / 0.061, rate_hz=104, filter_hz=52,
        noise_ug=(90, 90, 90), temperature=(0x20, "little", 1 / 256, 25.0),
    ),
    # Second low-pass at a tenth of the rate: data sheet (memory).
    "lsm6dsox": Facts(
        identity=(0x0F, 0x6C),
        writes=((0x10, 0x42), (0x17, 0x20), (0x12, 0x44)),
        data=0x28, width=2, order="little", shift=0, counts_per_g=1000 / 0.061, rate_hz=104, filter_hz=10.4,
        noise_ug=(70, 70, 70), temperature=(0x20, "little", 1 / 256, 25.0),
    ),
    "icm42688": Facts(
        identity=(0x75, 0x47),
        writes=((0x4E, 0x03), (0x50, 0x68), (0x52, 0x71)),
        data=0x1F, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=10,
        noise_ug=(65, 65, 70), temperature=(0x1D, "big", 1 / 132.48, 25.0),
    ),
    "adxl355": Facts(
        identity=(0x02, 0xED),
        writes=((0x28, 0x05), (0x2C, 0x01), (0x2D, 0x00)),
        data=0x08, width=3, order="big", shift=4, counts_per_g=256000, rate_hz=125, filter_hz=31.25,
        noise_ug=(22.5, 22.5, 22.5), temperature=(0x06, "big", -1 / 9.05, 25.0 + 1885 / 9.05),
    ),
}  # fmt: skip


class Driver:
    """The least that reads a chip."""

    def __init__(self, name, around=None, **truth):
        self.facts = FACTS[name]
        self.around = around or Around()
        self.chip = CHIPS[name](Sensor(name="s", chip=name, **truth), self.around, seed=7)

    def set_up(self, at_s=0.0):
        for register, value in self.facts.writes:
            self.chip.write(register, bytes([value]), at_s)
        return self

    def counts(self, time_s):
        width, order = self.facts.width, self.facts.order
        raw = self.chip.read(self.facts.data, 3 * width, time_s)
        words = [raw[i : i + width] for i in range(0, 3 * width, width)]
        return np.array([int.from_bytes(word, order, signed=True) >> self.facts.shift for word in words])

    def many(self, count):
        return np.array([self.counts((i + 1.5) / self.facts.rate_hz) for i in range(count)])

    def celsius(self, time_s):
        register, order, scale, offset = self.facts.temperature
        return int.from_bytes(self.chip.read(register, 2, time_s), order, signed=True) * scale + offset


CHIP = pytest.mark.parametrize("name", FACTS)


def test_every_chip_has_its_facts():
    assert set(FACTS) == set(CHIPS)


@CHIP
def test_it_says_who_it_is(name):
    register, value = FACTS[name].identity
    assert Driver(name).chip.read(register, 1, 0.0) == bytes([value])
    assert Driver(name, identity=0x5A).chip.read(register, 1, 0.0) == b"\x5a"


@pytest.mark.parametrize("name", [name for name in FACTS if name != "mpu6500"])
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
    step_g = 1 / (facts.counts_per_g / (16 if name == "lis3dh" else 1))  # 12 bits, left-justified
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
    driver = Driver(
        name, Around(np.array([0.0, 1.0, 0.0])), chip_turn_deg=(0, 0, 90), noise_ug=(0, 0, 0)
    ).set_up()
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
    driver = Driver(name, Around(np.array([9.0, -9.0, 0.0])), noise_ug=(0, 0, 0)).set_up()
    got_g = driver.counts(1.0) / FACTS[name].counts_per_g
    assert got_g[0] == pytest.approx(2.0, abs=0.06)
    assert got_g[1] == pytest.approx(-2.0, abs=0.06)


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


def test_lis3dh_reads_one_register_over_and_over_without_the_increment_bit():
    driver = Driver("lis3dh", Around(np.array([0.5, -0.5, 0.7]))).set_up()
    raw = driver.chip.read(0x28, 6, 1.0)
    assert len(set(raw)) == 1


@pytest.mark.parametrize(
    ("name", "enable", "status", "ready"),
    [("mpu6050", (0x38, 0x01), 0x3A, 0x01), ("lis3dh", (0x20, 0x57), 0x27, 0x08)],
)
def test_data_ready_is_set_by_a_sample_and_cleared_by_reading(name, enable, status, ready):
    driver = Driver(name).set_up()
    driver.chip.write(enable[0], bytes([enable[1]]), 0.0)
    period_s = 1 / FACTS[name].rate_hz
    assert driver.chip.read(status, 1, 1.5 * period_s)[0] & ready
    driver.counts(1.6 * period_s)
    assert not driver.chip.read(status, 1, 1.7 * period_s)[0] & ready
    assert driver.chip.read(status, 1, 2.5 * period_s)[0] & ready


# Limits of the data sheets in g: MPU-6050 factory trim within the code's range 0.34 to 0.92; LIS3DH 17 to 360 digits
# of 4 mg; ADXL345 at 3.3 V, x; LSM6DS3 0.09 to 1.7; ICM-42688-P 0.05 to 1.2; ADXL355 typical 0.3 (all from memory).
@pytest.mark.parametrize(
    ("name", "setting", "limits_g"),
    [
        ("mpu6050", (0x1C, 0x00, 0xE0), (0.34, 0.92)),
        ("mpu6500", (0x1C, 0x00, 0xE0), (0.16, 1.8)),
        ("lis3dh", (0x23, 0x88, 0x8A), (0.068, 1.44)),
        ("adxl345", (0x31, 0x08, 0x88), (0.35, 3.7)),
        ("lsm6ds3", (0x14, 0x00, 0x01), (0.09, 1.7)),
        ("lsm6dsox", (0x14, 0x00, 0x01), (0.05, 1.7)),
        ("icm42688", (0x70, 0x00, 0x78), (0.05, 1.2)),
        ("adxl355", (0x2E, 0x00, 0x03), (0.1, 0.6)),
    ],
)
def test_self_test_moves_x_as_the_data_sheet_says(name, setting, limits_g):
    register, off, on = setting
    driver = Driver(name, Around(np.zeros(3)), noise_ug=(0, 0, 0)).set_up()
    readings = []
    for value, at_s in ((off, 1.0), (on, 2.0), (off, 3.0)):
        driver.chip.write(register, bytes([value]), at_s)
        readings.append(driver.counts(at_s + 0.5)[0] / FACTS[name].counts_per_g)
    assert limits_g[0] <= readings[1] - readings[0] <= limits_g[1]
    assert readings[2] == readings[0]


def test_mpu6050_self_test_agrees_with_the_factorys_codes():
    # RM-MPU-6000A, self-test: FT = 4096 · 0.34 · (0.92/0.34)^((code - 1)/30) counts at ±8 g (memory).
    driver = Driver("mpu6050", Around(np.zeros(3)), noise_ug=(0, 0, 0)).set_up()
    x, y, z, low = driver.chip.read(0x0D, 4, 0.1)
    codes = np.array([x >> 5 << 2 | low >> 4 & 3, y >> 5 << 2 | low >> 2 & 3, z >> 5 << 2 | low & 3])
    driver.chip.write(0x1C, b"\xf0", 1.0)
    expected = 4096 * 0.34 * (0.92 / 0.34) ** ((codes - 1) / 30)
    np.testing.assert_allclose(driver.counts(2.0), expected, atol=1)


def test_icm42688_banks_share_addresses():
    driver = Driver("icm42688").set_up()
    driver.chip.write(0x76, b"\x02", 0.1)
    assert driver.chip.read(0x75, 1, 0.1) == b"\x00"
    driver.chip.write(0x76, b"\x00", 0.1)
    assert driver.chip.read(0x75, 1, 0.1) == b"\x47"


def test_lsm6_stays_on_one_register_without_the_increment_bit():
    driver = Driver("lsm6ds3").set_up()
    driver.chip.write(0x12, b"\x40", 0.1)
    assert len(set(driver.chip.read(0x2C, 4, 1.0))) == 1


@pytest.mark.parametrize(
    ("name", "register", "value", "asleep"),
    [
        ("lsm6ds3", 0x12, 0x01, (0x10, 0x00)),
        ("icm42688", 0x11, 0x01, (0x4E, 0x00)),
        ("adxl355", 0x2F, 0x52, (0x2D, 0x01)),
    ],
)
def test_a_reset_by_register_puts_a_chip_to_sleep(name, register, value, asleep):
    driver = Driver(name).set_up()
    driver.chip.write(register, bytes([value]), 1.0)
    assert driver.chip.read(asleep[0], 1, 1.0)[0] == asleep[1]


def test_mpu6050_sleeps_again_after_a_device_reset():
    driver = Driver("mpu6050").set_up()
    driver.chip.write(0x6B, b"\x80", 1.0)
    assert driver.chip.read(0x6B, 1, 1.0) == b"\x40"


def buses():
    drivers = {0x68: Driver("mpu6050").set_up(), 0x69: Driver("mpu6050").set_up()}
    slots = {address: Slot(driver.chip) for address, driver in drivers.items()}
    other = Slot(Driver("lis3dh").set_up().chip)
    return Buses({(0, address): slot for address, slot in slots.items()} | {(1, 0x18): other}), slots


def read(board, time_s, *, bus=0, address=0x68, register=0x3B, length=6):
    return board.read(bus, address, register, length, time_s)


def fault(kind):
    return Fault(do="fault", sensor="all", kind=kind)


def test_nobody_answers_at_an_empty_address():
    board, _ = buses()
    with pytest.raises(BusError) as caught:
        read(board, 1.0, address=0x1D)
    assert caught.value.number == NO_ACKNOWLEDGE


def test_an_absent_chip_comes_back_as_after_power_on():
    board, slots = buses()
    slots[0x68].change(1.0, fault("absent"))
    assert read(board, 0.99) != bytes(6)
    with pytest.raises(BusError):
        read(board, 1.0)
    assert read(board, 1.0, address=0x69) != bytes(6)
    slots[0x68].change(2.0, Mend(do="mend", sensor="all"))
    assert read(board, 2.0, register=0x6B, length=1) == b"\x40"


def test_a_stuck_chip_hangs_its_bus_alone():
    board, slots = buses()
    slots[0x68].change(1.0, fault("stuck"))
    with pytest.raises(BusError) as caught:
        read(board, 1.5, address=0x69)
    assert caught.value.number == HANGS
    assert read(board, 1.5, bus=1, address=0x18, register=0x0F, length=1) == b"\x33"


def test_a_transfer_is_broken_off_once():
    board, slots = buses()
    slots[0x68].change(1.0, fault("nack"))
    with pytest.raises(BusError):
        read(board, 1.5)
    assert len(read(board, 1.6)) == 6


def test_frozen_data_stand_still_until_mended():
    board, slots = buses()
    before = read(board, 0.99)
    slots[0x68].change(1.0, fault("frozen"))
    assert read(board, 1.5) == read(board, 2.5) == before
    slots[0x68].change(3.0, Mend(do="mend", sensor="all"))
    assert read(board, 3.5) != before


def test_a_reset_chip_sleeps_and_a_false_identity_is_told():
    board, slots = buses()
    slots[0x68].change(1.0, fault("reset"))
    assert read(board, 1.5, register=0x6B, length=1) == b"\x40"
    slots[0x69].change(1.0, fault("identity"))
    assert read(board, 1.5, address=0x69, register=0x75, length=1) != b"\x68"


def test_zeros_are_read_until_mended():
    board, slots = buses()
    slots[0x68].change(1.0, fault("zero"))
    assert read(board, 0.99) != bytes(6) == read(board, 1.5)
    slots[0x68].change(3.0, Mend(do="mend", sensor="all"))
    assert read(board, 3.5) != bytes(6)
