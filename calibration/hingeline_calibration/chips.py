"""What the datasheets say of each chip, at ±2 g.

Limits are those of the datasheets' columns of minimum and maximum, and where these are blank typical figures, marked T.
Marked as well: S second-hand text, M from memory, W a blank that is filled with a wide figure of such chips.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hingeline_calibration.errors import CalibrationError

RANGE_G = 2.0
"""All chips run at ±2 g, but for the SCL3300."""
CEILING_NOISES = 3.0
"""Times the datasheet's noise: modules show up to twice that of their chip. Common practice, no source."""


@dataclass(frozen=True)
class Chip:
    """Datasheet facts of one accelerometer; triples are in the order x, y, z.

    Noise density is one-sided. Limits, all ±, are those of the zero-g offset, of its change with temperature, of the
    sensitivity's tolerance, and of the cross-axis sensitivity. Neighbouring readings are `step_counts` apart.
    """

    noise_ug_per_rthz: tuple[float, float, float]
    offset_mg: tuple[float, float, float]
    tempco_mg_per_c: tuple[float, float, float]
    scale_percent: float
    cross_axis_percent: float
    counts_per_g: int
    step_counts: int
    source: str


def _same(value: float) -> tuple[float, float, float]:
    return (value, value, value)


CHIPS = {
    "mpu6050": Chip(
        _same(400), (50, 50, 80), (0.5, 0.5, 0.86), 3, 2, 16384, 1,
        "InvenSense PS-MPU-6000A (T); tempco: 35 and 60 mg over 0 to 70 °C, evenly",
    ),
    "mpu6500": Chip(_same(300), _same(60), (0.64, 0.64, 1), 3, 2, 16384, 1, "InvenSense PS-MPU-6500A (M)"),
    "mpu9250": Chip(_same(300), (60, 60, 80), _same(1.5), 3, 2, 16384, 1, "InvenSense PS-MPU-9250A (T)"),
    "mpu9255": Chip(_same(300), (60, 60, 80), _same(1.5), 3, 2, 16384, 1, "as MPU-9250 (M)"),
    "icm20689": Chip(_same(150), _same(80), _same(1.5), 3, 2, 16384, 1, "TDK ICM-20689 (M); offset, tempco W"),
    "icm20602": Chip(_same(100), _same(60), (0.5, 0.5, 1), 3, 2, 16384, 1, "TDK ICM-20602 (M); scale, cross-axis W"),
    "icm20608": Chip(_same(250), _same(80), _same(1.5), 3, 2, 16384, 1, "TDK ICM-20608-G (M); offset, tempco W"),
    "mpu6886": Chip(_same(100), _same(60), (0.5, 0.5, 1), 3, 2, 16384, 1, "TDK MPU-6886 (M); scale, cross-axis W"),
    "lis3dh": Chip(_same(220), _same(40), _same(0.5), 3, 2, 16000, 16, "ST LIS3DH datasheet (T); scale, cross-axis W"),
    "adxl345": Chip(
        (290, 290, 430), (150, 150, 250), (0.4, 0.4, 1.2), 10.2, 1, 256, 1,
        "Analog Devices ADXL345, Rev. G; tempco, cross-axis T",
    ),
    "lsm6ds3": Chip(_same(90), _same(40), _same(0.5), 3, 2, 16393, 1, "ST LSM6DS3 datasheet; scale, cross-axis W"),
    "lsm6ds3trc": Chip(_same(90), _same(40), _same(0.5), 3, 2, 16393, 1, "ST LSM6DS3TR-C (M); scale, cross-axis W"),
    "lsm6dsox": Chip(_same(70), _same(20), _same(0.1), 1, 2, 16393, 1, "ST LSM6DSOX datasheet (M); cross-axis W"),
    "icm42688": Chip((65, 65, 70), _same(20), _same(0.15), 0.5, 1, 16384, 1, "TDK DS-000347 ICM-42688-P (T)"),
    "lsm6dso32": Chip(_same(120), _same(40), _same(0.2), 3, 2, 8197, 1, "ST LSM6DSO32 (M); limits W"),
    "lis2dw12": Chip(_same(110), _same(60), _same(0.5), 3, 2, 16393, 4, "ST LIS2DW12 (M); all limits W"),
    "bmi160": Chip(_same(300), _same(80), _same(1), 3, 2, 16384, 1, "Bosch BMI160 (M): worst noise; limits W"),
    "bma400": Chip(_same(220), _same(80), _same(1), 4, 2, 1024, 1, "Bosch BMA400 (M); limits W"),
    "mma8451": Chip(_same(126), _same(40), _same(0.5), 3, 2, 16384, 4, "NXP MMA8451Q (M); limits W"),
    "qmi8658": Chip(_same(200), _same(100), _same(1.5), 3, 2, 16384, 1, "QST QMI8658A (M); offset typical; limits W"),
    "adxl357": Chip(_same(80), _same(125), _same(0.75), 8, 1, 51200, 1, "Analog Devices ADXL357 (M)"),
    "scl3300": Chip(_same(37), _same(20), _same(0.1), 1, 1, 6000, 1, "Murata SCL3300-D01 in mode 1 (M); limits W"),
    "adxl355": Chip(
        _same(22.5), _same(75), _same(0.15), 8, 1, 256000, 1, "Analog Devices ADXL355, Rev. D; cross-axis T"
    ),
}  # fmt: skip
"""By the chip's name in the `sensor` message."""


def chip_facts(chip: str) -> Chip:
    """Facts of a chip by its name. Raises `CalibrationError` of one that is not in the table."""
    if chip not in CHIPS:
        raise CalibrationError(f"chip {chip!r}, expected one of {', '.join(CHIPS)}", "Update hingeline on the computer")
    return CHIPS[chip]


def noise_ceiling_g(chip: str, bandwidth_hz: float) -> float:
    """Standard deviation of a line in g, beyond which a chip's scatter is not noise: 3 × density × √bandwidth.

    Raises as `chip_facts`.
    """
    return CEILING_NOISES * max(chip_facts(chip).noise_ug_per_rthz) * 1e-6 * math.sqrt(bandwidth_hz)
