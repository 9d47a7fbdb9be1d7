"""The buses of one board: transactions find the chip at their address, and its faults."""

from __future__ import annotations

from hingeline_virtual.chips.chip import Chip
from hingeline_virtual.commands import Fault, Mend, Spoil

NO_ACKNOWLEDGE = 5
"""EIO on every MicroPython."""
HANGS = 110
"""ETIMEDOUT on every MicroPython, whatever the number is here."""
_WRONG_IDENTITY = 0xA5


class BusError(Exception):
    """A transaction that failed; `number` is the errno that MicroPython raises."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


class BusBlocks(Exception):
    """A transaction that never ends."""


class Slot:
    """One chip where it hangs, with the faults it has from some scene time on."""

    def __init__(self, chip: Chip) -> None:
        self.chip = chip
        self._coming: list[tuple[float, Fault | Spoil | Mend]] = []
        self.faults: set[str] = set()

    def change(self, at_s: float, command: Fault | Spoil | Mend) -> None:
        """Give the chip a fault, change what is true of it, or take all that away, from a scene time on."""
        self._coming.append((at_s, command))

    def meet(self, time_s: float) -> None:
        """Let what was to come until a scene time happen."""
        while self._coming and self._coming[0][0] <= time_s:
            at_s, command = self._coming.pop(0)
            if isinstance(command, Spoil):
                self.chip.spoil(command, at_s)
            elif isinstance(command, Mend):
                if "absent" in self.faults:
                    self.chip.power_on()
                self.faults.clear()
                self.chip.restore()
            elif command.kind == "reset":
                self.chip.power_on()
            else:
                self.faults.add(command.kind)
            self.chip.frozen, self.chip.zero = "frozen" in self.faults, "zero" in self.faults
            self.chip.deaf = "deaf" in self.faults
            self.chip.wrong_identity = _WRONG_IDENTITY if "identity" in self.faults else None


class Buses:
    """All the chips of a board, by bus and address."""

    def __init__(self, slots: dict[tuple[int, int], Slot]) -> None:
        self._slots = slots

    def power_on(self) -> None:
        """Power every chip off and on."""
        for slot in self._slots.values():
            slot.chip.power_on()

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

    def _at(self, bus: int, address: int, time_s: float) -> Slot:
        for (number, _), slot in self._slots.items():
            slot.meet(time_s)
            if number == bus and "stuck" in slot.faults:
                raise BusError(HANGS)
        asked = self._slots.get((bus, address))
        if asked is None or "absent" in asked.faults:
            raise BusError(NO_ACKNOWLEDGE)
        if "block" in asked.faults:
            asked.faults.remove("block")
            raise BusBlocks
        if "nack" in asked.faults:
            asked.faults.remove("nack")
            raise BusError(NO_ACKNOWLEDGE)
        return asked
