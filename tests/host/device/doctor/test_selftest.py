"""Self-tests judged against published limits."""

import pytest
from tests.calibration.datasheets import SELF_TESTS_MG, SHEETS

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


@pytest.mark.parametrize("chip", ["lis3dh", "lsm6ds3", "lsm6ds3trc", "lsm6dsox", "adxl345", "icm42688", "adxl355"])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_other_chips_must_be_within_the_limits_of_their_datasheets(chip, axis):
    """An axis at three hundredths beyond a limit fails, at as much within it doesn't."""
    counts_per_g, limits_mg = SHEETS[chip].counts_per_g, SELF_TESTS_MG[chip]
    for limit, beyond in zip(limits_mg[axis], (-1, 1), strict=True):
        for part, failed in ((0.03, True), (-0.03, False)):
            response_mg = [(low + high) / 2 for low, high in limits_mg]
            response_mg[axis] = limit + beyond * part * abs(limit)
            counts = [round(value * counts_per_g / 1000) for value in response_mg]
            assert judge(chip, counts_per_g, answer(*counts)).failed is failed


FROM_MEMORY_MG = {
    "lsm6dso32": ((50, 1700),) * 3,
    "lis2dw12": ((70, 1500),) * 3,
    "bmi160": ((800, 4000), (800, 4000), (400, 4000)),
    "bma400": ((1500, 4000), (1200, 4000), (250, 4000)),
    "qmi8658": ((200, 4000),) * 3,
    "mma8451": ((11, 43), (15, 60), (95, 383)),
    "adxl357": ((150, 600), (150, 600), (750, 3000)),
}
"""As the datasheets have them, from memory: least and most of each axis, in mg."""


@pytest.mark.parametrize("chip", FROM_MEMORY_MG)
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_chips_whose_datasheets_were_not_at_hand(chip, axis):
    limits_mg = FROM_MEMORY_MG[chip]
    for limit, beyond in zip(limits_mg[axis], (-1, 1), strict=True):
        for part, failed in ((0.04, True), (-0.04, False)):
            response_mg = [(low + high) / 2 for low, high in limits_mg]
            response_mg[axis] = limit * (1 + beyond * part)
            counts = [1000 * round(value) for value in (1000 * part_mg for part_mg in response_mg)]
            assert judge(chip, 1e9, answer(*counts)).failed is failed


@pytest.mark.parametrize(("code", "counts"), [(1, 2620), (2, 2646.2), (101, 2620 * 2.7048138)])
def test_a_code_of_a_later_chip_is_a_hundredth_more_than_the_one_before(code, counts):
    """1.01^100 = 2.7048138, by a table of logarithms; limits from memory as above."""
    for share, failed in ((0.48, True), (0.52, False), (1.48, False), (1.52, True)):
        response = [round(counts), round(counts * share), round(counts)]
        assert judge("mpu6500", 16384, answer(*response, trims=[code] * 3)).failed is failed
    assert judge("mpu6500", 16384, answer(*3 * [round(counts)], trims=(code, 0, code))).limits_mg is None
