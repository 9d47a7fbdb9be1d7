"""A chip as seen from its bus: registers, and a sampler behind them.

Sample k is taken at the scene time k / rate by the chip's own clock. So the same scenario, registers and scene time
give the same counts.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Protocol
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from hingeline_virtual.chips.noise import Noise
from hingeline_virtual.rotation import Rotation

if TYPE_CHECKING:
    from hingeline_virtual.commands import Spoil
    from hingeline_virtual.scenario import Sensor

REFERENCE_C = 25.0
"""Temperature at which a bias is what the scenario says."""

Floats = NDArray[np.float64]


class Surroundings(Protocol):
    """What a chip measures: the scene gives it."""

    def force_g(self, sensor: str, time_s: float) -> Floats:
        """The specific force (3,) in g, carrier frame."""

    def temperature_c(self, sensor: str, time_s: float) -> float:
        """The chip's temperature."""


@dataclass(frozen=True)
class Sampling:
    """How a chip measures, by its registers."""

    rate_hz: float
    filter_hz: float
    range_g: float
    counts_per_g: float
    self_test_g: tuple[float, float, float] = (0.0, 0.0, 0.0)


class Chip(ABC):
    """Registers and a sampler. Subclasses give the registers their meaning, from the datasheet.

    Parameters
    ----------
    settings
        The errors of this chip.
    scene
        Gives the force on it and its temperature.
    seed
        Of its noise.
    """

    SIZE: ClassVar[int] = 128
    """Number of register addresses."""
    BUS: ClassVar[int] = 0
    """Its usual one: 0, or 2 where it is on SPI."""
    ADDRESS: ClassVar[int]
    """Its usual one, where several are possible."""
    IDENTITY: ClassVar[tuple[int, int]]
    """Register and value of the who-am-i."""
    RESET: ClassVar[dict[int, int]]
    """Values of registers after power-on, where not zero."""
    WRITABLE: ClassVar[frozenset[int]]
    NOISE_UG: ClassVar[tuple[float, float, float]]
    """Typical noise density of the datasheet, µg/√Hz."""

    def __init__(self, settings: Sensor, scene: Surroundings, seed: int) -> None:
        self._settings = settings
        self._scene = scene
        self._seed = (seed, crc32(settings.name.encode()))
        self._tempco_g_c = np.array(settings.tempco_mg_c) / 1000
        self._density_g = np.array(settings.noise_ug or self.NOISE_UG) / 1e6
        self.frozen = False
        """A fault: its data stop changing."""
        self.zero = False
        """A fault: its data are zeros."""
        self.deaf = False
        """A fault: it keeps nothing that is written."""
        self.wrong_identity: int | None = None
        """A fault: its who-am-i reads as this."""
        self.restore()
        self.power_on()

    def restore(self) -> None:
        """Set its errors to those of the scenario."""
        scale, cross = np.array(self._settings.scale_percent), self._settings.cross_axis_percent
        off = np.array([[0.0, cross[0], cross[1]], [cross[2], 0.0, cross[3]], [cross[4], cross[5], 0.0]])
        turn = Rotation.from_rotvec(self._settings.chip_turn_deg, degrees=True).inv().as_matrix()
        self._matrix: Floats = (np.eye(3) + (np.diag(scale) + off) / 100) @ turn
        self._bias_g: Floats = np.array(self._settings.bias_mg) / 1000
        self._drifts: list[tuple[float, Floats]] = []

    def spoil(self, by: Spoil, since_s: float) -> None:
        """Add errors from a scene time on."""
        turn = Rotation.from_rotvec(by.turn_deg, degrees=True).inv().as_matrix()
        self._matrix = (1 + np.array(by.scale_percent) / 100)[:, None] * self._matrix @ turn
        self._bias_g = self._bias_g + np.array(by.bias_mg) / 1000
        self._drifts.append((since_s, np.array(by.drift_mg_s) / 1000))

    def power_on(self) -> None:
        """Set the registers to their values after power-on; then nothing is sampled until they are written."""
        self._registers = bytearray(self.SIZE)
        for register, value in self.RESET.items():
            self._registers[register] = value
        register, value = self.IDENTITY
        self._registers[register] = value if self._settings.identity is None else self._settings.identity
        self._sampling: Sampling | None = None
        self._last = -1
        self._noise: Noise | None = None

    def scramble(self, time_s: float) -> None:
        """Put some value into every register that can be written, as if another program had used the chip."""
        for register in sorted(self.WRITABLE):
            self._registers[register] = crc32(bytes([*self._seed[1].to_bytes(4, "big"), register & 0xFF])) & 0xFF
        self._set_up(time_s)

    def write(self, register: int, data: bytes, time_s: float) -> None:
        """Take one write transaction, at a scene time."""
        self.measure_until(time_s)
        for offset, value in enumerate(data):
            address = self._address(register, offset)
            if address in self.WRITABLE and not self.deaf:
                self._registers[address] = value
                self._written(address, value)
        self._set_up(time_s)

    def read(self, register: int, length: int, time_s: float) -> bytes:
        """Answer one read transaction, at a scene time."""
        self.measure_until(time_s)
        addresses = [self._address(register, offset) for offset in range(length)]
        answer = bytearray(self._registers[address] for address in addresses)
        self._was_read(addresses)
        if self.wrong_identity is not None and self.IDENTITY[0] in addresses:
            answer[addresses.index(self.IDENTITY[0])] = self.wrong_identity
        return bytes(answer)

    def exchange(self, frame: bytes, time_s: float) -> bytes:
        """Take and give a frame over SPI, at a scene time; a chip that is not on SPI leaves its line high."""
        return b"\xff" * len(frame)

    def next_register(self, register: int) -> int:
        """The register that the next byte of a transaction comes from: for buses that go byte by byte."""
        return self._address(register, 1)

    def _address(self, register: int, offset: int) -> int:
        """The register that a transaction reaches after `offset` bytes: most chips count up."""
        return (register + offset) % self.SIZE

    def _set_up(self, time_s: float) -> None:
        sampling = self.sampling()
        if sampling == self._sampling:
            return
        self._sampling = sampling
        if sampling is not None:
            self._last = int(time_s * self._rate_hz(sampling))
            seed = (*self._seed, round(sampling.rate_hz * 1000), round(sampling.filter_hz * 1000))
            self._noise = Noise(self._density_g, sampling.filter_hz, sampling.rate_hz, seed)

    def measure_until(self, time_s: float) -> None:
        """Take the measurements that are due up to a scene time; while it is frozen, none is taken."""
        sampling = self._sampling
        if sampling is None or self._noise is None:
            return
        index = int(time_s * self._rate_hz(sampling))
        if index <= self._last:
            return
        if self.frozen:  # what it did not measure then is in no FIFO later
            self._last = index
            return
        # A FIFO takes every sample, the registers the last one alone.
        first = max(self._last + 1, index - self.fifo_samples()) if self.fifo_samples() else index
        for number in range(first, index + 1):
            self._sample(number, sampling, self._noise)
        self._last = index

    def _sample(self, index: int, sampling: Sampling, noise: Noise) -> None:
        sampled_s = index / self._rate_hz(sampling)
        temperature_c = self._scene.temperature_c(self._settings.name, sampled_s)
        shown_g = self._matrix @ self._scene.force_g(self._settings.name, sampled_s)
        shown_g += self._bias_g + self._tempco_g_c * (temperature_c - REFERENCE_C)
        shown_g += noise.at(index) + sampling.self_test_g
        for since_s, drift_g_s in self._drifts:
            shown_g += drift_g_s * (sampled_s - since_s)
        if self.zero:
            shown_g[:] = 0.0
        limit = round(sampling.range_g * sampling.counts_per_g)
        exact = (shown_g * sampling.counts_per_g).tolist()
        self._latch([min(max(round(value), -limit), limit - 1) for value in exact], temperature_c)

    def _rate_hz(self, sampling: Sampling) -> float:
        """How often it samples, by its own clock."""
        return sampling.rate_hz * (1 + self._settings.clock_percent / 100)

    def _written(self, register: int, value: int) -> None:  # noqa: B027
        """Do what a write does beyond storing its value."""

    def _was_read(self, registers: list[int]) -> None:  # noqa: B027
        """Do what a read does: clear flags."""

    def fifo_samples(self) -> int:
        """How many samples its FIFO takes before it is full; 0 while it is off."""
        return 0

    @abstractmethod
    def sampling(self) -> Sampling | None:
        """How the registers let the chip measure; None if they let it sleep."""

    @abstractmethod
    def _latch(self, counts: list[int], temperature_c: float) -> None:
        """Put a new sample of x, y, z, quantised and saturated, into the registers."""
