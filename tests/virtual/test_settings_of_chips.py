"""Every rate, range and filter that a chip model can be set to, as the tables of the data sheets have them (M).

A row is a chip, what follows from a field, the field's register and mask, and the value for each code of the field.
"""

import pytest
from tests.virtual.chip_facts import FACTS, Driver

LSM6 = dict(enumerate((12.5, 26, 52, 104, 208, 416, 833, 1660, 3330, 6660), start=1))
BOSCH = {code: 100 * 2.0 ** (code - 8) for code in range(5, 12)}
MPU_HZ = {0: 260, 1: 184, 2: 94, 3: 44, 4: 21, 5: 10, 6: 5}
MPU6500_HZ = {0: 218.1, 1: 218.1, 2: 99, 3: 44.8, 4: 21.2, 5: 10.2, 6: 5.05, 7: 420, 8: 1046}
TWICE = {0: 2, 1: 4, 2: 8, 3: 16}
TABLES = [
    ("lsm6ds3", "rate_hz", 0x10, 0xF0, LSM6),
    ("lsm6ds3", "range_g", 0x10, 0x0C, {0: 2, 1: 16, 2: 4, 3: 8}),
    ("lsm6ds3", "filter_hz", 0x10, 0xF0, {3: 50, 4: 50, 5: 100, 6: 200, 7: 400}),
    ("lsm6dsox", "filter_hz", 0x17, 0xE0, {c: 104 / d for c, d in enumerate((4, 10, 20, 45, 100, 200, 400, 800))}),
    ("lsm6dso32", "range_g", 0x10, 0x0C, {0: 4, 1: 32, 2: 8, 3: 16}),
    ("lis3dh", "rate_hz", 0x20, 0xF0, {1: 1, 2: 10, 3: 25, 4: 50, 5: 100, 6: 200, 7: 400, 8: 1600, 9: 1344}),
    ("lis3dh", "range_g", 0x23, 0x30, {0: 2.05, 1: 4.1, 2: 8.2, 3: 24.6}),
    ("lis3dh", "counts_per_g", 0x23, 0x30, {0: 1000, 1: 500, 2: 250, 3: 83.33}),
    ("lis3dh", "counts_per_g", 0x23, 0x08, {0: 250, 1: 1000}),  # 10 bits, 12 bits
    ("lis3dh", "counts_per_g", 0x20, 0x08, {0: 1000, 1: 62.5}),  # 8 bits in low power
    ("lsm6ds3", "counts_per_g", 0x10, 0x0C, {0: 16393, 1: 2049, 2: 8197, 3: 4098}),
    ("mpu6050", "counts_per_g", 0x1C, 0x18, {0: 16384, 1: 8192, 2: 4096, 3: 2048}),
    ("adxl345", "counts_per_g", 0x31, 0x03, {0: 256, 1: 256, 2: 256, 3: 256}),  # in full resolution
    ("adxl355", "counts_per_g", 0x2C, 0x03, {1: 256000, 2: 128000, 3: 64000}),
    ("icm42688", "counts_per_g", 0x50, 0xE0, {0: 2048, 1: 4096, 2: 8192, 3: 16384}),
    ("lis2dw12", "rate_hz", 0x20, 0xF0, {2: 12.5, 3: 25, 4: 50, 5: 100, 6: 200, 7: 400, 8: 800, 9: 1600}),
    ("lis2dw12", "range_g", 0x25, 0x30, TWICE),
    ("lis2dw12", "filter_hz", 0x25, 0xC0, {0: 50, 1: 25, 2: 10, 3: 5}),
    ("adxl345", "rate_hz", 0x2C, 0x0F, {code: 3200 / 2 ** (15 - code) for code in range(6, 16)}),
    ("adxl345", "range_g", 0x31, 0x03, TWICE),
    ("adxl355", "rate_hz", 0x28, 0x0F, {0: 4000, 1: 2000, 2: 1000, 3: 500, 4: 250, 5: 125, 6: 62.5, 10: 3.906}),
    ("adxl355", "filter_hz", 0x28, 0x0F, {0: 1000, 1: 500, 2: 250, 3: 125, 4: 62.5, 5: 31.25, 10: 0.977}),
    ("adxl355", "range_g", 0x2C, 0x03, {1: 2.048, 2: 4.096, 3: 8.192}),
    ("adxl357", "range_g", 0x2C, 0x03, {1: 10.24, 2: 20.48, 3: 40.96}),
    (
        "icm42688",
        "rate_hz",
        0x50,
        0x0F,
        {3: 8000, 4: 4000, 5: 2000, 6: 1000, 7: 200, 8: 100, 9: 50, 10: 25, 11: 12.5, 15: 500},
    ),
    ("icm42688", "range_g", 0x50, 0xE0, {0: 16, 1: 8, 2: 4, 3: 2}),
    ("icm42688", "filter_hz", 0x52, 0xF0, {0: 50, 1: 100, 2: 80, 3: 50, 4: 40, 5: 25, 6: 20, 7: 10}),
    ("mma8451", "rate_hz", 0x2A, 0x38, dict(enumerate((800, 400, 200, 100, 50, 12.5, 6.25, 1.5625)))),
    ("bmi160", "rate_hz", 0x40, 0x0F, BOSCH | {12: 1600}),
    ("bmi160", "range_g", 0x41, 0x0F, {3: 2, 5: 4, 8: 8, 12: 16}),
    ("bmi160", "filter_hz", 0x40, 0x70, {0: 9.48, 1: 18.73, 2: 40}),
    ("bma400", "rate_hz", 0x1A, 0x0F, BOSCH),
    ("bma400", "range_g", 0x1A, 0xC0, TWICE),
    ("bma400", "filter_hz", 0x19, 0x80, {0: 48, 1: 24}),
    ("qmi8658", "rate_hz", 0x03, 0x0F, {3: 1000, 4: 500, 5: 250, 6: 125, 7: 62.5, 8: 31.25}),
    ("qmi8658", "range_g", 0x03, 0x70, TWICE),
    ("mpu6050", "rate_hz", 0x19, 0xFF, {0: 1000, 4: 200, 9: 100, 255: 1000 / 256}),
    ("mpu6050", "range_g", 0x1C, 0x18, TWICE),
    ("mpu6050", "filter_hz", 0x1A, 0x07, MPU_HZ),
    ("mpu6500", "filter_hz", 0x1D, 0x0F, MPU6500_HZ),
]


@pytest.mark.parametrize(("name", "quantity", "register", "mask", "table"), TABLES, ids=lambda value: str(value)[:12])
def test_each_code_of_a_setting_is_what_the_data_sheet_says(name, quantity, register, mask, table):
    """Rounded there to three digits or four."""
    driver = Driver(name).set_up()
    usual = dict(FACTS[name].writes).get(register, 0)
    shift = (mask & -mask).bit_length() - 1
    for code, expected in table.items():
        setting = usual & ~mask | code << shift
        if name == "mma8451":  # it takes a setting while it stands by alone
            driver.chip.write(register, bytes([setting & ~1]), 1.0)
        driver.chip.write(register, bytes([setting]), 1.0)
        assert getattr(driver.chip.sampling(), quantity) == pytest.approx(expected, rel=0.005), code


@pytest.mark.parametrize(
    ("name", "register", "asleep"),
    [
        ("lsm6ds3", 0x10, 0x00),
        ("lsm6ds3", 0x10, 0xB0),
        ("lis3dh", 0x20, 0x07),
        ("lis2dw12", 0x20, 0x04),
        ("lis2dw12", 0x20, 0x50),
        ("adxl345", 0x2D, 0x00),
        ("adxl355", 0x2D, 0x01),
        ("icm42688", 0x4E, 0x00),
        ("icm42688", 0x50, 0x60),
        ("mma8451", 0x2A, 0x1C),
        ("bma400", 0x19, 0x80),
        ("bmi160", 0x40, 0x24),
        ("bmi160", 0x40, 0x2D),
        ("qmi8658", 0x08, 0x00),
        ("qmi8658", 0x03, 0x00),
        ("mpu6050", 0x6B, 0x40),
    ],
)
def test_a_chip_told_to_sleep_or_set_to_no_rate_measures_nothing(name, register, asleep):
    driver = Driver(name).set_up()
    assert driver.chip.sampling() is not None
    driver.chip.write(register, bytes([asleep]), 1.0)
    assert driver.chip.sampling() is None


POWER_ON = {
    "bmi160": {0x03: 0x00, 0x40: 0x28, 0x41: 0x03, 0x42: 0x28, 0x44: 0x0B, 0x45: 0x88, 0x47: 0x10},
    "bma400": {0x19: 0x00, 0x1A: 0x49, 0x1B: 0x00},
    "lsm6ds3": {0x10: 0x00, 0x12: 0x04},
    "lsm6dsox": {0x12: 0x04, 0x18: 0xE0},
    "lis3dh": {0x20: 0x07, 0x23: 0x00},
    "lis2dw12": {0x20: 0x00, 0x21: 0x04},
    "adxl345": {0x2C: 0x0A, 0x2D: 0x00, 0x31: 0x00},
    "adxl355": {0x00: 0xAD, 0x01: 0x1D, 0x28: 0x00, 0x2C: 0x81, 0x2D: 0x01},
    "icm42688": {0x4E: 0x00, 0x4F: 0x06, 0x50: 0x06},
    "mma8451": {0x0E: 0x00, 0x2A: 0x00},
    "qmi8658": {0x01: 0x7C, 0x02: 0x20, 0x08: 0x00},
    "mpu6050": {0x6B: 0x40, 0x1C: 0x00},
    "mpu6500": {0x6B: 0x01},
}


@pytest.mark.parametrize("name", POWER_ON)
def test_registers_after_power_on_are_those_of_the_data_sheet(name):
    driver = Driver(name)
    shown = {register: driver.chip.read(register, 1, 0.1)[0] for register in POWER_ON[name]}
    assert shown == POWER_ON[name]
