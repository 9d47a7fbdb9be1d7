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
    range_g: float = 2.0
    step: int = 1
    """Neighbouring values are this many counts apart."""
    commands: tuple[tuple[int, int], ...] = ()
    """Registers that keep nothing of what is written."""
    mask: int = 0
    """Bits of a word that are its sign and value, where it is not left-justified; 0 if all are."""


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
        noise_ug=(220, 220, 220), temperature=(0x0C | 0x80, "little", 1 / 256, 25.0), step=16,
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
    # Data sheets, all from memory: registers, bits, bandwidths and noise.
    "adxl357": Facts(
        identity=(0x02, 0xED),
        writes=((0x28, 0x05), (0x2C, 0x01), (0x2D, 0x00)),
        data=0x08, width=3, order="big", shift=4, counts_per_g=51200, rate_hz=125, filter_hz=31.25,
        noise_ug=(75, 75, 75), temperature=(0x06, "big", -1 / 9.05, 25.0 + 1885 / 9.05), range_g=10.24,
    ),
    "lsm6dso32": Facts(
        identity=(0x0F, 0x6C),
        writes=((0x10, 0x42), (0x17, 0x20), (0x12, 0x44)),
        data=0x28, width=2, order="little", shift=0, counts_per_g=1000 / 0.122, rate_hz=104, filter_hz=10.4,
        noise_ug=(120, 120, 120), temperature=(0x20, "little", 1 / 256, 25.0), range_g=4.0,
    ),
    "icm20689": Facts(
        identity=(0x75, 0x98),
        writes=((0x6B, 0x01), (0x1D, 0x03), (0x19, 0x09), (0x1C, 0x00)),
        data=0x3B, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=44.8,
        noise_ug=(150, 150, 150), temperature=(0x41, "big", 1 / 326.8, 25.0),
    ),
    "mpu6886": Facts(
        identity=(0x75, 0x19),
        writes=((0x6B, 0x01), (0x1D, 0x03), (0x19, 0x09), (0x1C, 0x00)),
        data=0x3B, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=44.8,
        noise_ug=(100, 100, 100), temperature=(0x41, "big", 1 / 326.8, 25.0),
    ),
    "lis2dw12": Facts(
        identity=(0x0F, 0x44),
        writes=((0x20, 0x54), (0x21, 0x0C), (0x25, 0x44)),
        data=0x28, width=2, order="little", shift=0, counts_per_g=4000 / 0.244, rate_hz=100, filter_hz=25,
        noise_ug=(90, 90, 90), temperature=(0x0D, "little", 1 / 256, 25.0), step=4,
    ),
    "mma8451": Facts(
        identity=(0x0D, 0x1A),
        writes=((0x0E, 0x00), (0x2B, 0x02), (0x2A, 0x1D)),
        data=0x01, width=2, order="big", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=100 / 3,
        noise_ug=(99, 99, 99), temperature=None, step=4,
    ),
    "bmi160": Facts(
        identity=(0x00, 0xD1),
        writes=((0x40, 0x28), (0x41, 0x03)),
        data=0x12, width=2, order="little", shift=0, counts_per_g=16384, rate_hz=100, filter_hz=40,
        noise_ug=(180, 180, 180), temperature=(0x20, "little", 1 / 512, 23.0), commands=((0x7E, 0x11),),
    ),
    "bma400": Facts(
        identity=(0x00, 0x90),
        writes=((0x19, 0x82), (0x1A, 0x38)),
        data=0x04, width=2, order="little", shift=0, counts_per_g=1024, rate_hz=100, filter_hz=24,
        noise_ug=(180, 180, 180), temperature=(0x11, "byte", 1 / 2, 23.0), mask=0x0FFF,
    ),
    "qmi8658": Facts(
        identity=(0x00, 0x05),
        writes=((0x02, 0x40), (0x03, 0x05), (0x06, 0x07), (0x08, 0x01)),
        data=0x35, width=2, order="little", shift=0, counts_per_g=16384, rate_hz=250, filter_hz=33.4,
        noise_ug=(200, 200, 200), temperature=(0x33, "little", 1 / 256, 0.0),
    ),
    # Murata SCL3300-D01 in mode 1, over SPI: register n in bytes 2n and 2n + 1. Scale, filter, thermometer as public
    # drivers quote the data sheet; rate and noise from memory.
    "scl3300": Facts(
        identity=(0x21, 0xC1),
        writes=((0x1B, 0x00),),
        data=0x02, width=2, order="big", shift=0, counts_per_g=6000, rate_hz=2000, filter_hz=40,
        noise_ug=(37, 37, 37), temperature=(0x0A, "big", 1 / 18.9, -273.0), range_g=1.2,
    ),
}  # fmt: skip


class Driver:
    """The least that reads a chip."""

    def __init__(self, name, around=None, **truth):
        self.facts = FACTS[name]
        self.around = around or Around()
        self.chip = CHIPS[name](Sensor(name="s", chip=name, **truth), self.around, seed=7)

    def set_up(self, at_s=0.0):
        for register, value in (*self.facts.commands, *self.facts.writes):
            self.chip.write(register, bytes([value]), at_s)
        return self

    def counts(self, time_s):
        width, order = self.facts.width, self.facts.order
        raw = self.chip.read(self.facts.data, 3 * width, time_s)
        words = [raw[i : i + width] for i in range(0, 3 * width, width)]
        values = [int.from_bytes(word, order, signed=not self.facts.mask) >> self.facts.shift for word in words]
        if mask := self.facts.mask:
            values = [(value & mask ^ (mask + 1) // 2) - (mask + 1) // 2 for value in values]
        return np.array(values)

    def many(self, count):
        return np.array([self.counts((i + 1.5) / self.facts.rate_hz) for i in range(count)])

    def celsius(self, time_s):
        register, order, scale, offset = self.facts.temperature
        if order == "byte":
            return int.from_bytes(self.chip.read(register, 1, time_s), "big", signed=True) * scale + offset
        return int.from_bytes(self.chip.read(register, 2, time_s), order, signed=True) * scale + offset
