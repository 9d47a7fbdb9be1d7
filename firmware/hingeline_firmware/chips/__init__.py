"""Which chips can this board read? One driver a module, and this table of them.

A driver gives its ADDRESSES, where its identity stands, what a count is worth, and four methods: `set_up`, `read`,
`temperature_cc` and `self_test`. `read` runs for every reading and makes nothing on the heap: its buffers are made
once.
"""

from collections import OrderedDict

from hingeline_firmware.chips.adxl345 import Adxl345
from hingeline_firmware.chips.adxl355 import Adxl355
from hingeline_firmware.chips.icm42688 import Icm42688
from hingeline_firmware.chips.lis3dh import Lis3dh
from hingeline_firmware.chips.lsm6ds3 import Lsm6ds3
from hingeline_firmware.chips.mpu6050 import Mpu6050

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

# Where chips share an address the first that is asked names an unknown identity, so the commonest chip is first.
# A plain dict of MicroPython keeps no order.
CHIPS: "dict[str, Any]" = OrderedDict(
    [
        ("mpu6050", Mpu6050),
        ("lis3dh", Lis3dh),
        ("adxl345", Adxl345),
        ("lsm6ds3", Lsm6ds3),
        ("icm42688", Icm42688),
        ("adxl355", Adxl355),
    ]
)
