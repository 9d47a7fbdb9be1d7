"""What the chips' datasheets print, typed from them and not from chips.py.

A figure is what its column prints: `MOST` of a minimum or maximum, `USUAL` of a typical one. `MEMORY`: no datasheet was
read. `BLANK`: it prints none, and chips.py fills in a wide one.
"""

from typing import NamedTuple

MOST, USUAL, MEMORY, BLANK = "maximum", "typical", "memory", "blank"


class Figure(NamedTuple):
    """A printed figure, ±, of x, y, z or of all, and its column."""

    value: float | tuple[float, float, float]
    column: str

    @property
    def axes(self) -> tuple[float, ...]:
        """Of x, y, z."""
        return self.value if isinstance(self.value, tuple) else (self.value,) * 3


class Sheet(NamedTuple):
    """Noise in µg/√Hz, zero-g offset in mg, its change in mg/°C, sensitivity in counts a g, its tolerance in %,
    cross-axis sensitivity in %, and how far apart two readings stand in counts."""

    document: str
    noise: Figure
    offset: Figure
    tempco: Figure
    counts_per_g: int
    scale: Figure
    cross_axis: Figure
    step: int = 1


SHEETS = {
    # Sensitivity: 230 to 282 counts a g about 256, 10.2 %. Noise: 0.75 and 1.1 counts rms at 100 Hz, times 3.9 mg/count
    # over √100 Hz, is 293 and 429 (computed); "±35, ±40 mg" and "±1.0 %" are one standard deviation, by its note 1.
    "adxl345": Sheet(
        "Analog Devices ADXL345, Rev. G, table 1, p. 3",
        Figure((290, 290, 430), USUAL), Figure((150, 150, 250), MOST), Figure((0.4, 0.4, 1.2), USUAL),
        256, Figure(10.2, MOST), Figure(1, USUAL),
    ),
    # Sensitivity: 235 520 to 276 480 counts a g about 256 000, 8 %.
    "adxl355": Sheet(
        "Analog Devices ADXL354/ADXL355, Rev. D, table 2, p. 5",
        Figure(22.5, USUAL), Figure(75, MOST), Figure(0.15, MOST), 256_000, Figure(8, MOST), Figure(1, USUAL),
    ),
    # Sensitivity: 47 104 to 55 296 counts a g about 51 200, 8 %, second-hand; Rev. A prints 75 µg/√Hz, Rev. 0 80.
    "adxl357": Sheet(
        "Analog Devices ADXL356/ADXL357, Rev. 0, p. 1; offset, cross-axis from memory",
        Figure(80, USUAL), Figure(125, MEMORY), Figure(0.75, MOST), 51_200, Figure(8, MOST), Figure(1, MEMORY),
    ),
    # Noise: that of its kin SCA3300 with the same low-pass. Offset: ±1.15° over life and temperature, 20 mg (computed).
    "scl3300": Sheet(
        "Murata SCL3300-D01, mode 1, from memory; 6000 counts a g as public drivers quote it",
        Figure(37, MEMORY), Figure(20, MEMORY), Figure(0.1, BLANK), 6000, Figure(1, BLANK), Figure(1, MEMORY),
    ),
    # Tempco: ±35 and ±60 mg over 0 to 70 °C, 0.5 and 0.86 mg/°C (computed).
    "mpu6050": Sheet(
        "InvenSense PS-MPU-6000A-00, Rev. 3.4, sec. 6.2, p. 13",
        Figure(400, USUAL), Figure((50, 50, 80), USUAL), Figure((0.5, 0.5, 0.86), USUAL),
        16_384, Figure(3, USUAL), Figure(2, USUAL),
    ),
    "mpu9250": Sheet(
        "InvenSense PS-MPU-9250A-01, Rev. 1.0, table 2, p. 9",
        Figure(300, USUAL), Figure((60, 60, 80), USUAL), Figure(1.5, USUAL),
        16_384, Figure(3, USUAL), Figure(2, USUAL),
    ),
    "mpu9255": Sheet(
        "as the MPU-9250",
        Figure(300, MEMORY), Figure((60, 60, 80), MEMORY), Figure(1.5, MEMORY),
        16_384, Figure(3, MEMORY), Figure(2, MEMORY),
    ),
    "mpu6500": Sheet(
        "InvenSense PS-MPU-6500A",
        Figure(300, MEMORY), Figure(60, MEMORY), Figure((0.64, 0.64, 1), MEMORY),
        16_384, Figure(3, MEMORY), Figure(2, MEMORY),
    ),
    "icm20689": Sheet(
        "TDK ICM-20689",
        Figure(150, MEMORY), Figure(80, BLANK), Figure(1.5, BLANK), 16_384, Figure(3, MEMORY), Figure(2, MEMORY),
    ),
    "icm20602": Sheet(
        "TDK ICM-20602",
        Figure(100, MEMORY), Figure(60, MEMORY), Figure((0.5, 0.5, 1), MEMORY),
        16_384, Figure(3, BLANK), Figure(2, BLANK),
    ),
    "icm20608": Sheet(
        "TDK ICM-20608-G",
        Figure(250, MEMORY), Figure(80, BLANK), Figure(1.5, BLANK), 16_384, Figure(3, MEMORY), Figure(2, MEMORY),
    ),
    "mpu6886": Sheet(
        "TDK MPU-6886",
        Figure(100, MEMORY), Figure(60, MEMORY), Figure((0.5, 0.5, 1), MEMORY),
        16_384, Figure(3, BLANK), Figure(2, BLANK),
    ),
    "icm42688": Sheet(
        "TDK DS-000347, Rev. 1.7, table 2, p. 12",
        Figure((65, 65, 70), USUAL), Figure(20, USUAL), Figure(0.15, USUAL),
        16_384, Figure(0.5, USUAL), Figure(1, USUAL),
    ),
    # 1 mg a count of 12 bit, left-justified in 16.
    "lis3dh": Sheet(
        "ST LIS3DH, DocID17530 Rev 2, table 4, p. 10 and 11",
        Figure(220, USUAL), Figure(40, USUAL), Figure(0.5, USUAL), 16_000, Figure(3, BLANK), Figure(2, BLANK), 16,
    ),
    # 0.061 mg a count.
    "lsm6ds3": Sheet(
        "ST LSM6DS3, DocID026899, table 3",
        Figure(90, MEMORY), Figure(40, MEMORY), Figure(0.5, MEMORY), 16_393, Figure(3, BLANK), Figure(2, BLANK),
    ),
    "lsm6ds3trc": Sheet(
        "ST LSM6DS3TR-C",
        Figure(90, MEMORY), Figure(40, MEMORY), Figure(0.5, MEMORY), 16_393, Figure(3, BLANK), Figure(2, BLANK),
    ),
    "lsm6dsox": Sheet(
        "ST LSM6DSOX",
        Figure(70, MEMORY), Figure(20, MEMORY), Figure(0.1, MEMORY), 16_393, Figure(1, MEMORY), Figure(2, BLANK),
    ),
    # At ±4 g, 0.122 mg a count. It prints ±20 mg, ±0.1 mg/°C and ±0.5 %, all typical: chips.py is wider.
    "lsm6dso32": Sheet(
        "ST LSM6DSO32, DocID032891 Rev 1, p. 25 and 26",
        Figure(120, USUAL), Figure(40, BLANK), Figure(0.2, BLANK), 8_197, Figure(3, BLANK), Figure(2, BLANK),
    ),
    # 0.244 mg a count of 14 bit, left-justified in 16.
    "lis2dw12": Sheet(
        "ST LIS2DW12",
        Figure(110, MEMORY), Figure(60, BLANK), Figure(0.5, BLANK), 16_393, Figure(3, BLANK), Figure(2, BLANK), 4,
    ),
    "bmi160": Sheet(
        "Bosch BMI160: the largest noise",
        Figure(300, MEMORY), Figure(80, BLANK), Figure(1, BLANK), 16_384, Figure(3, BLANK), Figure(2, BLANK),
    ),
    "bma400": Sheet(
        "Bosch BMA400",
        Figure(220, MEMORY), Figure(80, BLANK), Figure(1, BLANK), 1_024, Figure(4, BLANK), Figure(2, BLANK),
    ),
    "mma8451": Sheet(
        "NXP MMA8451Q: Rev. 10.3 prints 99 µg/√Hz, p. 1, of the mode of least noise",
        Figure(126, MEMORY), Figure(40, BLANK), Figure(0.5, BLANK), 16_384, Figure(3, BLANK), Figure(2, BLANK), 4,
    ),
    "qmi8658": Sheet(
        "QST QMI8658A",
        Figure(200, MEMORY), Figure(100, MEMORY), Figure(1.5, BLANK), 16_384, Figure(3, BLANK), Figure(2, BLANK),
    ),
}  # fmt: skip


def _alike(low: float, high: float) -> tuple[tuple[float, float], ...]:
    return ((low, high),) * 3


SELF_TESTS_MG: dict[str, tuple[tuple[float, float], ...]] = {
    # ST DocID17530 Rev 2, table 4: 17 to 360 digits of 4 mg.
    "lis3dh": _alike(68, 1440),
    # Analog Devices Rev. G, table 1 at 2.5 V: 0.20 to 2.10, -2.10 to -0.20, 0.30 to 3.40 g. In use are 3.3 V: 1.77
    # times as much on x and y, 1.47 times on z (table 14, from memory).
    "adxl345": ((354, 3717), (-3717, -354), (441, 4998)),
    # Analog Devices ADXL355 Rev. D, table 2, p. 5.
    "adxl355": ((100, 600), (100, 600), (500, 3000)),
    # ST LSM6DSO DS12140 Rev 2, p. 10: 50 to 1700 mg; the others second-hand or from memory.
    "lsm6ds3": _alike(90, 1700),
    "lsm6ds3trc": _alike(90, 1700),
    "lsm6dsox": _alike(50, 1700),
    "lsm6dso32": _alike(50, 1700),
    # From memory, all of these: as the ADXL355; 50 to 1200 mg; 70 to 1500 mg; typical changes of 44, 61 and 392 digits
    # of 1/2048 g, half to double.
    "adxl357": ((100, 600), (100, 600), (500, 3000)),
    "icm42688": _alike(50, 1200),
    "lis2dw12": _alike(70, 1500),
    "mma8451": ((10, 43), (14, 60), (95, 383)),
    # From memory: both ways together at least 800 and 400 mg; 1500, 1200 and 250 mg; one way at least 200 mg.
    "bmi160": ((800, 4000), (800, 4000), (400, 4000)),
    "bma400": ((1500, 4000), (1200, 4000), (250, 4000)),
    "qmi8658": _alike(200, 4000),
}
"""By chip, the least and the most that its self-test moves x, y and z, at the 3.3 V of a board."""
