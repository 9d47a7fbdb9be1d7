"""What the datasheets tell a driver of each chip, and the least that reads it by them."""

from dataclasses import dataclass, field

import numpy as np

from hingeline_virtual.chips import CHIPS
from hingeline_virtual.scenario import Sensor


@dataclass
class Around:
    """What a chip feels, told directly."""

    force: np.ndarray = field(default_factory=lambda: np.array([0.0, 0.0, 1.0]))
    celsius: float = 25.0

    def force_g(self, sensor, time_s):
        return self.force

    def temperature_c(self, sensor, time_s):
        return self.celsius


@dataclass(frozen=True)
class Facts:
    """What a datasheet says: registers to write, and where then what is found."""

    identity: tuple[int, int]
    writes: tuple[tuple[int, int], ...]
    data: int
    width: int
    order: str
    shift: int
    counts_per_g: float
    rate_hz: float
    filter_hz: float
    noise_ug: tuple[float, float, float]
    temperature: tuple[int, str, float, float] | None


FACTS = {
    "mpu6050": Facts(
        identity=(0x75, 0x68),
        writes=((0x6B, 0x01), (0x1A, 0x03), (0x19, 0x09), (0x1C, 0x00)),
        data=0x3B, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=44,
        noise_ug=(400, 400, 400), temperature=(0x41, "big", 1 / 340, 36.53),
    ),
    "lis3dh": Facts(
        identity=(0x0F, 0x33),
        writes=((0x20, 0x57), (0x23, 0x88), (0x1F, 0xC0)),
        data=0x28 | 0x80, width=2, order="little", shift=0, counts_per_g=16000, rate_hz=100, filter_hz=100 / 9,
        noise_ug=(220, 220, 220), temperature=(0x0C | 0x80, "little", 1 / 256, 25.0),
    ),
    # RM-MPU-6500A (memory): awake after power-on, accelerometer low-pass in 0x1D, 333.87 digits/°C from 21 °C.
    "mpu6500": Facts(
        identity=(0x75, 0x70),
        writes=((0x6B, 0x01), (0x1D, 0x03), (0x19, 0x09), (0x1C, 0x00)),
        data=0x3B, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=44.8,
        noise_ug=(300, 300, 300), temperature=(0x41, "big", 1 / 333.87, 21.0),
    ),
    "adxl345": Facts(
        identity=(0x00, 0xE5),
        writes=((0x2C, 0x0A), (0x31, 0x08), (0x2D, 0x08)),
        data=0x32, width=2, order="little", shift=0, counts_per_g=256, rate_hz=100, filter_hz=50,
        noise_ug=(290, 290, 430), temperature=None,
    ),
    # Bandwidth of the anti-aliasing filter at 104 Hz: data sheet (memory).
    "lsm6ds3": Facts(
        identity=(0x0F, 0x69),
        writes=((0x10, 0x40), (0x12, 0x44)),
        data=0x28, width=2, order="little", shift=0, counts_per_g=1000 / 0.061, rate_hz=104, filter_hz=50,
        noise_ug=(90, 90, 90), temperature=(0x20, "little", 1 / 16, 25.0),
    ),
    "lsm6ds3trc": Facts(
        identity=(0x0F, 0x6A),
        writes=((0x10, 0x40), (0x12, 0x44)),
        data=0x28, width=2, order="little", shift=0, counts_per_g=1000 / 0.061, rate_hz=104, filter_hz=52,
        noise_ug=(90, 90, 90), temperature=(0x20, "little", 1 / 256, 25.0),
    ),
    # Second low-pass at a tenth of the rate: data sheet (memory).
    "lsm6dsox": Facts(
        identity=(0x0F, 0x6C),
        writes=((0x10, 0x42), (0x17, 0x20), (0x12, 0x44)),
        data=0x28, width=2, order="little", shift=0, counts_per_g=1000 / 0.061, rate_hz=104, filter_hz=10.4,
        noise_ug=(70, 70, 70), temperature=(0x20, "little", 1 / 256, 25.0),
    ),
    "icm42688": Facts(
        identity=(0x75, 0x47),
        writes=((0x4E, 0x03), (0x50, 0x68), (0x52, 0x71)),
        data=0x1F, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=10,
        noise_ug=(65, 65, 70), temperature=(0x1D, "big", 1 / 132.48, 25.0),
    ),
    "adxl355": Facts(
        identity=(0x02, 0xED),
        writes=((0x28, 0x05), (0x2C, 0x01), (0x2D, 0x00)),
        data=0x08, width=3, order="big", shift=4, counts_per_g=256000, rate_hz=125, filter_hz=31.25,
        noise_ug=(22.5, 22.5, 22.5), temperature=(0x06, "big", -1 / 9.05, 25.0 + 1885 / 9.05),
    ),
}  # fmt: skip


class Driver:
    """The least that reads a chip."""

    def __init__(self, name, around=None, **truth):
        self.facts = FACTS[name]
        self.around = around or Around()
        self.chip = CHIPS[name](Sensor(name="s", chip=name, **truth), self.around, seed=7)

    def set_up(self, at_s=0.0):
        for register, value in self.facts.writes:
            self.chip.write(register, bytes([value]), at_s)
        return self

    def counts(self, time_s):
        width, order = self.facts.width, self.facts.order
        raw = self.chip.read(self.facts.data, 3 * width, time_s)
        words = [raw[i : i + width] for i in range(0, 3 * width, width)]
        return np.array([int.from_bytes(word, order, signed=True) >> self.facts.shift for word in words])

    def many(self, count):
        return np.array([self.counts((i + 1.5) / self.facts.rate_hz) for i in range(count)])

    def celsius(self, time_s):
        register, order, scale, offset = self.facts.temperature
        return int.from_bytes(self.chip.read(register, 2, time_s), order, signed=True) * scale + offset
