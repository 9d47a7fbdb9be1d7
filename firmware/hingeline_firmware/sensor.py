"""One sensor of the board: whether it answers and measures, and its sums for the next line."""

from time import sleep_ms, ticks_add, ticks_diff, ticks_us

from hingeline_firmware import selftest
from hingeline_firmware.registers import SetupError
from hingeline_protocol import messages

_TRIES = 20
_SHOWN = 4
"""Most identities that a text names."""
SETTLE_US = 100000
"""Readings in the first tenth of a second after set-up are not used: the low-pass filter is settling."""
STALE_US = 100000
"""A chip without a new measurement for so long is lost."""
RETRY_US = 200000
"""How often a chip that does not answer is asked again."""


class Sensor:
    """A chip at an address of a bus; `doubt` is why it is not certain which: then it is not read.

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
    buffered
        Whether `read` takes all measurements of the chip's FIFO; `overflows` counts how often it was full before.
    sent
        Whether its line has been sent before the end of the line of the others.
    resets
        Whether its reset has been ordered and it is not set up yet, as after it was made.
    """

    def __init__(self, bus_number, address, chip, bus, doubt=""):
        self.number = bus_number * 128 + address
        self.bus = bus_number
        self._opened_bus = bus
        self.address = address
        self.sequence = 0
        self.readings = 0
        self.temperature_cc = messages.NO_TEMPERATURE_CC
        self._registers = bus.registers(address)
        self.chip = chip(self._registers)
        self._sums = [0, 0, 0]
        self._line_us = self._due_us = self._fresh_us = ticks_us()
        self._lost = False
        self._told_apart = False
        self._doubt = doubt
        self._has_fifo = hasattr(self.chip, "drain")
        self._drained = self._discards = False
        self.buffered = self.sent = False
        self.overflows = 0
        self.resets = False
        self.start_reset()

    def start(self):
        """Check the chip's identity, reset it and set it up; `state` says how that went."""
        self.start_reset()
        if self.resets:
            sleep_ms(self.chip.RESET_MS)
            self.end_reset()

    def start_reset(self):
        """Check the chip's identity and order its reset: `resets` is true then, until `end_reset`."""
        self.state = "ok"
        self.trouble = ""
        self.resets = self._try(self._identify)
        self._due_us = ticks_add(ticks_us(), 1000 * self.chip.RESET_MS if self.resets else RETRY_US)

    def end_reset(self):
        """Set the chip up."""
        self.resets = False
        self._try(self._set_up)
        self._discards = True
        self._due_us = ticks_add(ticks_us(), SETTLE_US if self.state == "ok" else RETRY_US)
        self._fresh_us = self._due_us

    def _try(self, step):
        """Take a step of the start, and tell whether it went well."""
        try:
            step()
        except OSError as error:
            self._explain("absent", "no answer, error %s" % error.errno)
        except SetupError as error:
            self._explain("setup", error.args[0])
        return self.state == "ok"

    def _identify(self):
        chip = self.chip
        if self._doubt:
            return self._explain("identity", self._doubt)
        identity = self._registers.get(chip.IDENTITY_REGISTER)
        if identity in chip.IDENTITIES:
            name = chip.IDENTITIES[identity]
            kin = getattr(chip, "KIN", ())
            chip.name = chip.name if chip.name in kin and name in kin else name
            return chip.reset()
        wanted = " or ".join(["0x%02X" % known for known in sorted(chip.IDENTITIES)[:_SHOWN]])
        text = "register 0x%02X: wanted %s, got 0x%02X"
        return self._explain("identity", text % (chip.IDENTITY_REGISTER, wanted, identity))

    def _set_up(self):
        chip = self.chip
        chip.set_up()
        kin = getattr(chip, "KIN", ())
        if chip.name in kin and not self._told_apart:
            chip.name = selftest.tell_apart(chip, kin)
            chip.COUNTS_PER_G = kin[chip.name]
            self._told_apart = True

    def _explain(self, state, reason):
        self.state = state
        self.trouble = "bus %d address 0x%02X: %s" % (self.bus, self.address, reason)

    def read(self):
        """Add one reading to the line. Return a Fault when the chip is lost or back, else None."""
        now_us = ticks_us()
        if ticks_diff(now_us, self._due_us) < 0:
            return None
        if self.state != "ok" or self.resets:
            self._lost = True
            if self.resets:
                self.end_reset()
            else:
                self._opened_bus.free_if_held()
                self.start_reset()  # the other sensors are read meanwhile
            return None
        self._due_us = now_us  # kept near now: ticks wrap, a difference is valid for nine minutes only
        try:
            taken = self._drain(now_us) if self.buffered else self.chip.read(self._sums)
        except OSError as error:
            return self._lose(now_us, error.errno)
        if not taken:
            return self._lose(now_us, 0) if ticks_diff(now_us, self._fresh_us) > STALE_US else None
        self._fresh_us = now_us
        if not self.readings:
            self._line_us = ticks_add(now_us, -self._age_us(taken)) if self.buffered else now_us
        self.readings += taken
        if self._lost:
            self._lost = False
            return messages.Fault(self.number, self.sequence, now_us, "back", 0)
        return None

    def _drain(self, now_us):
        """Add all measurements of the chip's FIFO, and tell how many they were."""
        if self._discards:  # what the FIFO holds is of before, or of the time of settling
            self._discards = False
            self._fresh_us = now_us
            self.chip.empty()
            return 0
        taken = self.chip.drain(self._sums)
        if taken < 0:
            self.overflows += 1
            self._fresh_us = now_us
            self._clear()
            return 0
        self._drained |= taken > 0
        return taken

    def _age_us(self, taken):
        """How old the first of these measurements is, on average: the last may be as old as a measurement takes."""
        return (2 * taken - 1) * 500000 // self.chip.RATE_HZ

    def read_temperature(self):
        """Update `temperature_cc`. Return a Fault when the chip is lost, else None."""
        if self.state == "ok" and not self.resets:
            try:
                self.temperature_cc = self.chip.temperature_cc()
            except OSError as error:
                return self._lose(ticks_us(), error.errno)
        return None

    def _lose(self, now_us, number):
        self._explain("absent", "error %s" % number if number else "it measures nothing")
        if not number and not self._drained:
            self.buffered = self._has_fifo = False  # a clone may lack the FIFO: its measurements are read one by one
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

    def begin(self, quick):
        """Begin a line after a pause of any length. No reading is due later than RETRY_US from now.

        The chip's FIFO is used if it has one and is emptied in `quick` succession.
        """
        self.buffered = quick and self._has_fifo
        self._discards = True
        self.sent = False
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

    def measure_us(self):
        """Measure how long a reading takes; none of a chip with a FIFO, which is read once a line."""
        if self.state != "ok" or self._has_fifo:
            return 0
        sums = [0, 0, 0]
        for _ in range(_TRIES):
            start_us = ticks_us()
            try:
                if self.chip.read(sums):
                    return ticks_diff(ticks_us(), start_us)
            except OSError:
                break
            sleep_ms(1)
        return 0

    def introduce_timing(self, request):
        """Describe when this sensor's values are of."""
        chip = self.chip
        delay_us = getattr(chip, "DELAY_US", 0) or 159155 // chip.FILTER_HZ  # of one pole: 1 / (2 pi f)
        age_us = 0 if self._has_fifo else 500000 // chip.RATE_HZ
        return messages.Timing(request, self.number, delay_us, age_us, int(self._has_fifo), self.overflows)

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
