"""The buses of one board: a transaction goes to the chip at its address, and meets that chip's faults."""

from __future__ import annotations

from hingeline_virtual.chips.chip import Chip
from hingeline_virtual.commands import Fault, Mend, Spoil

NO_ACKNOWLEDGE = 5
"""EIO on every MicroPython."""
HANGS = 110
"""ETIMEDOUT on every MicroPython; this computer's own number may differ."""
_WRONG_IDENTITY = 0xA5


class BusError(Exception):
    """A transaction that failed; `number` is the errno that MicroPython raises."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


class BusBlocks(Exception):
    """A transaction that never ends."""


class ChipOnBus:
    """A chip on its bus, with the faults it has from some scene time on."""

    def __init__(self, chip: Chip) -> None:
        self.chip = chip
        self._coming: list[tuple[float, Fault | Spoil | Mend]] = []
        self.faults: set[str] = set()

    def change(self, at_s: float, command: Fault | Spoil | Mend) -> None:
        """Give the chip a fault or an error, or remove all of them, from a scene time on."""
        self._coming.append((at_s, command))

    def apply_until(self, time_s: float) -> None:
        """Apply the changes that were to come until a scene time."""
        while self._coming and self._coming[0][0] <= time_s:
            at_s, command = self._coming.pop(0)
            self.chip.measure_until(at_s)
            if isinstance(command, Spoil):
                self.chip.spoil(command, at_s)
            elif isinstance(command, Mend):
                if "absent" in self.faults:
                    self.chip.power_on()
                self.faults.clear()
                self.chip.restore()
            elif command.kind == "reset":
                self.chip.power_on()
            elif command.kind == "dirty":
                self.chip.scramble(at_s)
            else:
                self.faults.add(command.kind)
            self.chip.frozen, self.chip.zero = "frozen" in self.faults, "zero" in self.faults
            self.chip.deaf = "deaf" in self.faults
            self.chip.wrong_identity = _WRONG_IDENTITY if "identity" in self.faults else None


class Buses:
    """All the chips of a board, by bus and address."""

    def __init__(self, chips: dict[tuple[int, int], ChipOnBus]) -> None:
        self._chips = chips

    def power_on(self) -> None:
        """Power every chip off and on."""
        for chip in self._chips.values():
            chip.chip.power_on()

    def read(self, bus: int, address: int, register: int, length: int, time_s: float) -> bytes:
        """Carry out a read.

        Raises
        ------
        BusError
            Nothing acknowledges, the chip breaks off, or the bus hangs.
        BusBlocks
            It does not end.
        """
        return self._at(bus, address, time_s).chip.read(register, length, time_s)

    def write(self, bus: int, address: int, register: int, data: bytes, time_s: float) -> None:
        """Carry out a write. Raises as `read`."""
        self._at(bus, address, time_s).chip.write(register, data, time_s)

    def exchange(self, bus: int, frame: bytes, time_s: float) -> bytes:
        """Send a frame over SPI while one is received. Raises as `read`."""
        return self._at(bus, 0, time_s).chip.exchange(frame, time_s)

    def check_level(self, bus: int, time_s: float) -> None:
        """Raise `BusError` if a chip holds the bus's SDA low."""
        for (number, _), chip in self._chips.items():
            chip.apply_until(time_s)
            if number == bus and chip.faults & {"stuck", "held"}:
                raise BusError(HANGS)

    def free(self, bus: int) -> None:
        """Let the chips of a bus see nine clocks and a STOP: one that held SDA has sent what it had to send."""
        for (number, _), chip in self._chips.items():
            if number == bus:
                chip.faults.discard("held")

    def _at(self, bus: int, address: int, time_s: float) -> ChipOnBus:
        self.check_level(bus, time_s)
        addressed = self._chips.get((bus, address))
        if addressed is None or "absent" in addressed.faults:
            raise BusError(NO_ACKNOWLEDGE)
        if "block" in addressed.faults:
            addressed.faults.remove("block")
            raise BusBlocks
        if "nack" in addressed.faults:
            addressed.faults.remove("nack")
            raise BusError(NO_ACKNOWLEDGE)
        return addressed
