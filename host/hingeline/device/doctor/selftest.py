"""A chip's self-test against its datasheet: a force inside the chip moves its mass by a known amount, or nearly.

Figures read at second hand are marked S, from memory M.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Limits = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class SelfTest:
    """A judged self-test: how far x, y, z moved, and the least and the most that they should have.

    `limits_mg` is None where no limits are known; `source` is theirs, or why there are none.
    """

    response_mg: tuple[float, float, float]
    limits_mg: Limits | None
    source: str

    @property
    def failed(self) -> bool:
        """Some axis moved too little, too much or the wrong way."""
        if self.limits_mg is None:
            return False
        pairs = zip(self.response_mg, self.limits_mg, strict=True)
        return not all(low <= moved <= high for moved, (low, high) in pairs)


def judge(chip: str, counts_per_g: float, answer: Any) -> SelfTest:
    """Judge the board's answer, a `messages.Tested` in counts and factory codes."""
    x, y, z = (1000 * counts / counts_per_g for counts in (answer.x, answer.y, answer.z))
    limits_mg, source = _LIMITS.get(chip, (None, "no datasheet limits known"))
    if callable(limits_mg):
        codes = (answer.x_trim, answer.y_trim, answer.z_trim)
        if not all(codes):
            return SelfTest((x, y, z), None, f"the chip has no factory code, as many clones ({source})")
        limits_mg = tuple(map(limits_mg, codes))
    return SelfTest((x, y, z), limits_mg, source)


def _same(low: float, high: float) -> Limits:
    return ((low, high),) * 3


def _within(share: float, trim_mg: float) -> tuple[float, float]:
    return trim_mg * (1 - share), trim_mg * (1 + share)


_LATER = (
    lambda code: _within(0.5, 1000 * 2620 / 16384 * 1.01 ** (code - 1)),  # 2620·1.01^(code-1), 16384 counts/g (M)
    "InvenSense AN-MPU-9250A-03 (M): half to 1.5 times the trim",
)
_LIMITS: dict[str, tuple[Limits | Callable[[int], tuple[float, float]] | None, str]] = {
    "mpu6050": (  # RM-MPU-6000A: 4096·0.34·(0.92/0.34)^((code-1)/30) counts at 4096 counts/g (S)
        lambda code: _within(0.14, 1000 * 0.34 * (0.92 / 0.34) ** ((code - 1) / 30)),
        "InvenSense PS-MPU-6000A (S): within 14 % of the factory trim",
    ),
    **dict.fromkeys(("mpu6500", "mpu9250", "mpu9255", "icm20689", "icm20602", "icm20608", "mpu6886"), _LATER),
    "lis3dh": (_same(17 * 4.0, 360 * 4.0), "ST LIS3DH datasheet: 17 to 360 digits of 4 mg"),
    "lsm6ds3": (_same(90, 1700), "ST LSM6DS3 datasheet (S): 90 to 1700 mg"),
    "lsm6ds3trc": (_same(90, 1700), "ST LSM6DS3TR-C datasheet (M): 90 to 1700 mg"),
    "lsm6dsox": (_same(50, 1700), "ST LSM6DSOX datasheet (S): 50 to 1700 mg"),
    "adxl345": (
        tuple(
            (low * 1000 / 256 * factor, high * 1000 / 256 * factor)
            for low, high, factor in ((50, 540, 1.77), (-540, -50, 1.77), (75, 875, 1.47))
        ),
        "Analog Devices ADXL345 datasheet, tables 14 and 15: digits of 1/256 g, for 3.3 V",
    ),
    "icm42688": (_same(50, 1200), "TDK InvenSense self-test of the ICM-42688-P (M): 50 to 1200 mg"),
    "lsm6dso32": (_same(50, 1700), "ST LSM6DSO32 datasheet (M): 50 to 1700 mg"),
    "lis2dw12": (_same(70, 1500), "ST LIS2DW12 datasheet (M): 70 to 1500 mg"),
    "bmi160": (
        ((800, 4000), (800, 4000), (400, 4000)),
        "Bosch BMI160 datasheet (M): at least 800, 800, 400 mg between both forces; at most the range is taken",
    ),
    "bma400": (
        ((1500, 4000), (1200, 4000), (250, 4000)),
        "Bosch BMA400 datasheet (M): at least 1500, 1200, 250 mg between both forces; at most the range is taken",
    ),
    "qmi8658": (_same(200, 4000), "QST QMI8658A datasheet (M): at least 200 mg; at most the range is taken"),
    "mma8451": (
        ((11, 43), (15, 60), (95, 383)),
        "NXP MMA8451Q datasheet (M): 44, 61, 392 digits of 1/2048 g typical; half to double is taken (no source)",
    ),
    "adxl357": (
        ((150, 600), (150, 600), (750, 3000)),
        "as the ADXL355 (M); half to double of its typical figures is taken (no source)",
    ),
    "adxl355": (
        ((100, 600), (100, 600), (500, 3000)),
        "Analog Devices ADXL355 datasheet, table 2: 0.1 to 0.6 g on x and y, 0.5 to 3 g on z",
    ),
}
"""Limits in mg of x, y, z, and where they are from: those of the datasheet, or of an axis by the code of its trim for
chips that know their response when they left the factory."""
