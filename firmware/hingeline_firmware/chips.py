"""The table of chips. An address that several have is asked in this order."""

from hingeline_firmware.adxl345 import Adxl345
from hingeline_firmware.adxl355 import Adxl355
from hingeline_firmware.icm42688 import Icm42688
from hingeline_firmware.lis3dh import Lis3dh
from hingeline_firmware.lsm6ds3 import Lsm6ds3
from hingeline_firmware.mpu6050 import Mpu6050

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

CHIPS: "dict[str, Any]" = {
    "mpu6050": Mpu6050,
    "lis3dh": Lis3dh,
    "adxl345": Adxl345,
    "lsm6ds3": Lsm6ds3,
    "icm42688": Icm42688,
    "adxl355": Adxl355,
}
