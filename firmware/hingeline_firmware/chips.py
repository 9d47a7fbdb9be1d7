"""The table of chips, in the order in which an address is asked."""

from hingeline_firmware.lis3dh import Lis3dh
from hingeline_firmware.mpu6050 import Mpu6050

CHIPS = {"mpu6050": Mpu6050, "lis3dh": Lis3dh}
