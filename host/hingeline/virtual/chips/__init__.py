"""Register-level models of the chips, written from their datasheets and not from the firmware's drivers."""

from __future__ import annotations

from hingeline.virtual.chips.chip import Chip
from hingeline.virtual.chips.lis3dh import Lis3dh
from hingeline.virtual.chips.mpu6050 import Mpu6050

CHIPS: dict[str, type[Chip]] = {"mpu6050": Mpu6050, "lis3dh": Lis3dh}
