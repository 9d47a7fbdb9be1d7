"""Chip models, each by the registers of its own: address, status, self-test, banks, reset."""

import numpy as np
import pytest
from tests.calibration.datasheets import SELF_TESTS_MG
from tests.virtual.chip_facts import FACTS, Around, Driver

from hingeline_virtual.buses import ChipOnBus
from hingeline_virtual.commands import COMMAND


def test_lis3dh_reads_one_register_over_and_over_without_the_increment_bit():
    driver = Driver("lis3dh", Around(np.array([0.5, -0.5, 0.7]))).set_up()
    raw = driver.chip.read(0x28, 6, 1.0)
    assert len(set(raw)) == 1


@pytest.mark.parametrize(
    ("name", "enable", "status", "ready"),
    [
        ("mpu6050", (0x38, 0x01), 0x3A, 0x01),
        ("lis3dh", (0x20, 0x57), 0x27, 0x08),
        ("lsm6ds3", (0x10, 0x40), 0x1E, 0x01),
        ("lis2dw12", (0x20, 0x54), 0x27, 0x01),
        ("adxl345", (0x2E, 0x80), 0x30, 0x80),
        ("adxl355", (0x28, 0x05), 0x04, 0x01),
        ("mma8451", (0x2A, 0x1D), 0x00, 0x08),
        ("bmi160", (0x40, 0x28), 0x1B, 0x80),
        ("qmi8658", (0x08, 0x01), 0x2E, 0x01),
    ],
)
def test_data_ready_is_set_by_a_sample_and_cleared_by_reading(name, enable, status, ready):
    driver = Driver(name).set_up()
    driver.chip.write(enable[0], bytes([enable[1]]), 0.0)
    period_s = 1 / FACTS[name].rate_hz
    assert driver.chip.read(status, 1, 1.5 * period_s)[0] & ready
    driver.counts(1.6 * period_s)
    assert not driver.chip.read(status, 1, 1.7 * period_s)[0] & ready
    assert driver.chip.read(status, 1, 2.5 * period_s)[0] & ready


@pytest.mark.parametrize(
    ("name", "setting"),
    [
        ("lis3dh", (0x23, 0x88, 0x8A)),
        ("adxl345", (0x31, 0x08, 0x88)),
        ("lsm6ds3", (0x14, 0x00, 0x01)),
        ("lsm6dsox", (0x14, 0x00, 0x01)),
        ("icm42688", (0x70, 0x00, 0x78)),
        ("adxl355", (0x2E, 0x00, 0x03)),
        ("lis2dw12", (0x22, 0x00, 0x40)),
        ("bmi160", (0x6D, 0x09, 0x0D)),
        ("bma400", (0x7D, 0x0F, 0x07)),
    ],
)
def test_self_test_moves_each_axis_as_the_data_sheet_says(name, setting):
    moved_g = moved_by_self_test(name, setting)
    limits_mg = SELF_TESTS_MG[name]
    assert all(low <= 1000 * value <= high for value, (low, high) in zip(moved_g, limits_mg, strict=True))


# Factory trims of the MPU-6050 are within the range of its code, 0.34 to 0.92 g; of the MPU-6500 from 2620 counts up
# (both from memory).
@pytest.mark.parametrize(("name", "limits_g"), [("mpu6050", (0.34, 0.92)), ("mpu6500", (0.16, 1.8))])
def test_self_test_moves_x_as_the_factory_s_trim_may(name, limits_g):
    moved_g = moved_by_self_test(name, (0x1C, 0x00, 0xE0))
    assert limits_g[0] <= moved_g[0] <= limits_g[1]


def moved_by_self_test(name, setting):
    """How far x, y, z move, in g; afterwards they are back."""
    register, off, on = setting
    driver = Driver(name, Around(np.zeros(3)), noise_ug=(0, 0, 0)).set_up()
    readings = []
    for value, at_s in ((off, 1.0), (on, 2.0), (off, 3.0)):
        driver.chip.write(register, bytes([value]), at_s)
        readings.append(driver.counts(at_s + 0.5) / FACTS[name].counts_per_g)
    np.testing.assert_array_equal(readings[2], readings[0])
    return readings[1] - readings[0]


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
        ("lis2dw12", 0x21, 0x40, (0x20, 0x00)),
        ("bmi160", 0x7E, 0xB6, (0x03, 0x00)),
        ("bma400", 0x7E, 0xB6, (0x19, 0x00)),
        ("mma8451", 0x2B, 0x40, (0x2A, 0x00)),
        ("qmi8658", 0x60, 0xB0, (0x08, 0x00)),
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


def test_mma8451_keeps_no_setting_while_it_measures():
    driver = Driver("mma8451").set_up()
    driver.chip.write(0x0E, b"\x02", 0.1)
    assert driver.chip.read(0x0E, 1, 0.1) == b"\x00"
    driver.chip.write(0x2A, b"\x1c", 0.2)
    driver.chip.write(0x0E, b"\x02", 0.3)
    assert driver.chip.read(0x0E, 1, 0.3) == b"\x02"


def test_qmi8658_tests_itself_while_it_is_off():
    driver = Driver("qmi8658").set_up()
    driver.chip.write(0x08, b"\x00", 0.1)
    driver.chip.write(0x03, b"\x85", 0.2)
    assert driver.chip.read(0x2D, 1, 0.3)[0] & 1
    x = int.from_bytes(driver.chip.read(0x51, 2, 0.3), "little", signed=True) / 2048
    assert x > 0.2, "at least 200 mg (from memory)"
    driver.chip.write(0x03, b"\x05", 0.4)
    assert not driver.chip.read(0x2D, 1, 0.5)[0] & 1


def fifo(name="mpu6050"):
    """A chip that fills its FIFO with accelerations: RM-MPU-6000A, FIFO_EN, USER_CTRL, FIFO_COUNT, FIFO_R_W."""
    driver = Driver(name).set_up()
    driver.chip.write(0x23, b"\x08", 0.0)
    driver.chip.write(0x6A, b"\x44", 0.0)
    driver.chip.write(0x38, b"\x11", 0.0)
    return driver


def held(driver, time_s):
    return int.from_bytes(driver.chip.read(0x72, 2, time_s), "big")


def test_a_fifo_holds_every_sample_in_order_until_it_is_read():
    driver = fifo()
    alone = Driver("mpu6050").set_up()
    period_s = 1 / FACTS["mpu6050"].rate_hz
    expected = [list(alone.counts((i + 0.5) * period_s)) for i in range(1, 9)]
    assert held(driver, 8.5 * period_s) == 8 * 6
    raw = driver.chip.read(0x74, 48, 8.6 * period_s)
    words = [int.from_bytes(raw[i : i + 2], "big", signed=True) for i in range(0, 48, 2)]
    assert [words[i : i + 3] for i in range(0, 24, 3)] == expected
    assert held(driver, 8.7 * period_s) == 0
    assert driver.chip.read(0x74, 1, 8.8 * period_s) == raw[-1:], "empty, it repeats the last byte (from memory)"


def test_what_a_chip_did_not_measure_while_it_was_frozen_is_not_in_its_fifo_later():
    driver = fifo()
    period_s = 1 / FACTS["mpu6050"].rate_hz
    slot = ChipOnBus(driver.chip)
    slot.change(4.5 * period_s, COMMAND.validate_python({"do": "fault", "sensor": "s", "kind": "frozen"}))
    slot.change(40.5 * period_s, COMMAND.validate_python({"do": "mend", "sensor": "s"}))
    slot.apply_until(44.5 * period_s)
    assert held(driver, 44.5 * period_s) == 6 * (4 + 4)


@pytest.mark.parametrize(("name", "size"), [("mpu6050", 1024), ("mpu6500", 512)])
def test_a_full_fifo_says_so_and_a_reset_empties_it(name, size):
    driver = fifo(name)
    assert held(driver, 0.5) < size
    assert not driver.chip.read(0x3A, 1, 0.5)[0] & 0x10
    assert held(driver, 3.0) == size
    assert driver.chip.read(0x3A, 1, 3.0)[0] & 0x10
    driver.chip.write(0x6A, b"\x44", 3.001)
    assert held(driver, 3.001) == 0
    assert driver.chip.read(0x6A, 1, 3.001) == b"\x40"


def test_a_fifo_can_be_read_byte_by_byte_at_one_register():
    driver = fifo()
    twin = fifo()
    whole = twin.chip.read(0x74, 12, 0.05)
    register, read = 0x74, b""
    for _ in whole:
        read += driver.chip.read(register, 1, 0.05)
        register = driver.chip.next_register(register)
    assert read == whole
    assert driver.chip.next_register(0x3B) == 0x3C
