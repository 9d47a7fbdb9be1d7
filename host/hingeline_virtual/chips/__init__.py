"""Register-level models of the chips, written from their datasheets and not from the firmware's drivers."""

from __future__ import annotations

from hingeline_virtual.chips.adxl345 import Adxl345
from hingeline_virtual.chips.adxl355 import Adxl355
from hingeline_virtual.chips.chip import Chip
from hingeline_virtual.chips.icm42688 import Icm42688
from hingeline_virtual.chips.lis3dh import Lis3dh
from hingeline_virtual.chips.lsm6 import Lsm6ds3, Lsm6ds3trc, Lsm6dsox
from hingeline_virtual.chips.mpu6050 import Mpu6050, Mpu6500

CHIPS: dict[str, type[Chip]] = {
    "mpu6050": Mpu6050,
    "mpu6500": Mpu6500,
    "lis3dh": Lis3dh,
    "adxl345": Adxl345,
    "lsm6ds3": Lsm6ds3,
    "lsm6ds3trc": Lsm6ds3trc,
    "lsm6dsox": Lsm6dsox,
    "icm42688": Icm42688,
    "adxl355": Adxl355,
}
