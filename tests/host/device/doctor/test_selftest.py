"""Self-tests judged against published limits."""

import pytest

from hingeline.device.doctor.selftest import judge
from hingeline_protocol import messages


def answer(*response, trims=(0, 0, 0)):
    return messages.Tested(1, 0, *response, *trims)


@pytest.mark.parametrize(("code", "trim_g"), [(1, 0.34), (31, 0.92), (16, 0.55929)])
def test_an_mpu6050_must_be_within_14_percent_of_its_factory_trim(code, trim_g):
    # RM-MPU-6000A: FT = 4096 · 0.34 · (0.92/0.34)^((code - 1)/30) counts of 1/4096 g: from 0.34 to 0.92 g, and the
    # geometric mean of the two in the middle. Change from it: -14 to 14 % (PS-MPU-6000A).
    for off, failed in ((0.87, False), (1.13, False), (0.85, True), (1.15, True)):
        counts = [round(16384 * trim_g * share) for share in (1, off, 1)]
        assert judge("mpu6050", 16384, answer(*counts, trims=[code] * 3)).failed is failed


def test_a_clone_without_factory_codes_is_not_judged():
    judged = judge("mpu6050", 16384, answer(8000, 8000, 8000))
    assert judged.limits_mg is None
    assert not judged.failed
    assert "no factory code" in judged.source
    assert judge("abacus", 1000, answer(1, 2, 3)).response_mg == (1, 2, 3)


def test_a_later_chip_must_be_within_half_to_one_and_a_half_of_its_trim():
    # 2620 · 1.01^(code - 1) counts of 1/16384 g (InvenSense, from memory)
    assert not judge("mpu6500", 16384, answer(2620, 1400, 3800, trims=(1, 1, 1))).failed
    assert judge("mpu6500", 16384, answer(2620, 1200, 2620, trims=(1, 1, 1))).failed
    assert judge("mpu9250", 16384, answer(2620, 2620, 4000, trims=(1, 1, 1))).failed


@pytest.mark.parametrize(
    ("chip", "counts_per_g", "good_mg", "low_mg", "high_mg"),
    [
        # ST LIS3DH datasheet, self-test output change at ±2 g: 17 to 360 LSB of 4 mg
        ("lis3dh", 16000, (400, 400, 400), (60, 400, 400), (400, 1500, 400)),
        # ST's own self-test examples: LSM6DS3 and LSM6DSL 90 to 1700 mg, LSM6DSO 50 to 1700 mg
        ("lsm6ds3", 16393, (400, 400, 400), (400, 80, 400), (400, 400, 1800)),
        ("lsm6dsox", 16393, (60, 400, 400), (400, 40, 400), (400, 400, 1800)),
        # Analog Devices ADXL345 Rev. E, table 15: x 50..540, y -540..-50, z 75..875 LSB at 2.5 V; table 14: at 3.3 V
        # 1.77 times on x and y, 1.47 times on z
        ("adxl345", 256, (1000, -1000, 1500), (1000, 1000, 1500), (4000, -1000, 1500)),
        ("icm42688", 16384, (500, 500, 500), (500, 30, 500), (1300, 500, 500)),
        # Analog Devices ADXL355 Rev. D, table 2, p. 5: x, y 0.1 to 0.6 g, z 0.5 to 3 g
        ("adxl355", 256000, (120, 580, 600), (90, 300, 1500), (300, 300, 3100)),
    ],
)
def test_other_chips_must_be_within_the_limits_of_their_datasheets(chip, counts_per_g, good_mg, low_mg, high_mg):
    for response_mg, failed in ((good_mg, False), (low_mg, True), (high_mg, True)):
        counts = [round(value * counts_per_g / 1000) for value in response_mg]
        assert judge(chip, counts_per_g, answer(*counts)).failed is failed
