"""One sensor of the board: whether it answers and measures, and its sums for the next line."""

from time import ticks_add, ticks_diff, ticks_us

from hingeline_firmware.registers import Registers, SetupError
from hingeline_protocol import messages

SETTLE_US = 100000
"""Readings in the first tenth of a second after set-up are not used: the low-pass filter is settling."""
STALE_US = 100000
"""A chip without a new measurement for so long is lost."""
RETRY_US = 200000
"""How often a chip that does not answer is asked again."""


class Sensor:
    """A chip at an address of a bus.

    Attributes
    ----------
    number
        Which sensor of the board: bus * 128 + address, so it keeps its number whatever else is wired or missing.
    state
        `ok`, `absent`, `identity` or `setup`.
    trouble
        Why the state is not `ok`, for people.
    readings
        How many are summed in the current line.
    """

    def __init__(self, bus, address, chip, i2c):
        self.number = bus * 128 + address
        self.bus = bus
        self.address = address
        self.sequence = 0
        self.readings = 0
        self.temperature_cc = messages.NO_TEMPERATURE_CC
        self._registers = Registers(i2c, address)
        self.chip = chip(self._registers)
        self._sums = [0, 0, 0]
        self._line_us = self._due_us = self._fresh_us = ticks_us()
        self._lost = False
        self.start()

    def start(self):
        """Check the chip's identity and set it up; `state` says how that went."""
        self.state = "ok"
        self.trouble = ""
        try:
            self._identify()
        except OSError as error:
            self._explain("absent", "no answer, error %s" % error.errno)
        except SetupError as error:
            self._explain("setup", error.args[0])
        self._due_us = ticks_add(ticks_us(), SETTLE_US if self.state == "ok" else RETRY_US)
        self._fresh_us = self._due_us

    def _identify(self):
        chip = self.chip
        identity = self._registers.get(chip.IDENTITY_REGISTER)
        if identity in chip.IDENTITIES:
            chip.name = chip.IDENTITIES[identity]
            chip.set_up()
        else:
            wanted = " or ".join(["0x%02X" % known for known in sorted(chip.IDENTITIES)])
            text = "register 0x%02X: wanted %s, got 0x%02X"
            self._explain("identity", text % (chip.IDENTITY_REGISTER, wanted, identity))

    def _explain(self, state, reason):
        self.state = state
        self.trouble = "bus %d address 0x%02X: %s" % (self.bus, self.address, reason)

    def read(self):
        """Add one reading to the line. Return a Fault when the chip is lost or back, else None."""
        now_us = ticks_us()
        if ticks_diff(now_us, self._due_us) < 0:
            return None
        if self.state != "ok":
            self._lost = True
            self.start()
            return None
        self._due_us = now_us  # kept near now: ticks wrap, a difference is valid for nine minutes only
        try:
            fresh = self.chip.read(self._sums)
        except OSError as error:
            return self._lose(now_us, error.errno)
        if not fresh:
            return self._lose(now_us, 0) if ticks_diff(now_us, self._fresh_us) > STALE_US else None
        self._fresh_us = now_us
        if not self.readings:
            self._line_us = now_us
        self.readings += 1
        if self._lost:
            self._lost = False
            return messages.Fault(self.number, self.sequence, now_us, "back", 0)
        return None

    def read_temperature(self):
        """Update `temperature_cc`. Return a Fault when the chip is lost, else None."""
        if self.state == "ok":
            try:
                self.temperature_cc = self.chip.temperature_cc()
            except OSError as error:
                return self._lose(ticks_us(), error.errno)
        return None

    def _lose(self, now_us, number):
        self._explain("absent", "error %s" % number if number else "it measures nothing")
        self._due_us = ticks_add(now_us, RETRY_US)
        self.temperature_cc = messages.NO_TEMPERATURE_CC
        self._clear()
        if self._lost:
            return None
        self._lost = True
        return messages.Fault(self.number, self.sequence, now_us, "lost", number)

    def line_body(self):
        """Format the body of the current line."""
        sums = self._sums
        return messages.SAMPLE_FORMAT % (
            self.number,
            self.sequence,
            self._line_us,
            self.readings,
            sums[0],
            sums[1],
            sums[2],
            self.temperature_cc,
        )

    def begin(self):
        """Begin a line after a pause of any length. No reading is due later than RETRY_US from now."""
        now_us = ticks_us()
        if not 0 <= ticks_diff(self._due_us, now_us) <= RETRY_US:
            self._due_us = now_us
        self._fresh_us = self._due_us
        self._clear()

    def next_line(self, lines):
        """Count lines, sent or not, and begin the next."""
        self.sequence = (self.sequence + lines) % messages.SEQUENCE_PERIOD
        self._clear()

    def _clear(self):
        self.readings = 0
        self._sums[0] = self._sums[1] = self._sums[2] = 0

    def self_test(self):
        """Run the chip's self-test, and set the chip up again; gives the six integers of `tested`.

        Raises
        ------
        OSError, registers.SetupError
            The chip did not answer, or did not keep a setting.
        """
        try:
            return self.chip.self_test()
        finally:
            self.start()

    def introduce(self, request):
        """Describe this sensor to a host that asked in `request`."""
        chip = self.chip
        return messages.Sensor(
            request,
            self.number,
            chip.name,
            self.bus,
            self.address,
            chip.COUNTS_PER_G,
            chip.RATE_HZ,
            chip.FILTER_HZ,
            chip.THERMOMETER,
            self.state,
        )
