"""The buses of this board, and the sensors on them: each known chip is asked for its identity."""

import sys
from time import sleep_ms, sleep_us

from machine import I2C, Pin

from hingeline_firmware import chips
from hingeline_firmware.registers import Registers
from hingeline_firmware.sensor import Sensor

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

BUS_HZ = 100000
"""Slow, for leads of half a metre and whatever pull-ups the modules have."""
_HALF_US = 5
_CLOCKS = 9


def hanging_us(platform, version):
    """After how long a bus that hangs is given up: the usual 50 ms would cost the other sensors their lines.

    From MicroPython 1.29 on an ESP32 counts this in ticks of 10 ms, and less than two of them may be none at all.
    """
    return 20000 if platform == "esp32" and version >= (1, 29) else 5000


_HANGING_US = hanging_us(sys.platform, sys.implementation.version[:2])


class Bus:
    """A bus of the pin map or of the configuration; those beyond the controllers are run by software.

    Attributes
    ----------
    i2c
        What transfers: `machine.I2C` or `machine.SoftI2C`.
    """

    WIRE = "i2c"

    def __init__(self, row, hz, software):
        self._number = row["id"]
        self._scl = row["scl"]
        self._sda = row["sda"]
        self._hz = hz
        self._software = software
        self.i2c: "Any" = None
        self.free()

    def free(self):
        """End whatever transfer a chip is in: nine clocks and a STOP (NXP UM10204, section 3.1.16), then open the bus.

        A board that is reset in the midst of a reading leaves its chip holding SDA until it has sent the rest.
        """
        scl, sda = (Pin(number, Pin.OPEN_DRAIN, Pin.PULL_UP, value=1) for number in (self._scl, self._sda))
        for _ in range(_CLOCKS):
            for level in (0, 1):
                scl.value(level)
                sleep_us(_HALF_US)
        for line, level in ((scl, 0), (sda, 0), (scl, 1), (sda, 1)):
            line.value(level)
            sleep_us(_HALF_US)
        scl, sda = Pin(self._scl), Pin(self._sda)
        if self._software:
            from machine import SoftI2C  # the same reads and writes, for those alone who need it

            self.i2c = SoftI2C(scl=scl, sda=sda, freq=self._hz, timeout=_HANGING_US)
        else:
            # A second object of one controller is the first one, set up anew: what holds it goes on with it.
            self.i2c = I2C(self._number, scl=scl, sda=sda, freq=self._hz, timeout=_HANGING_US)

    def registers(self, address):
        """Give access to the registers of the chip at an address."""
        return Registers(self.i2c, address)

    def free_if_held(self):
        """Free the bus if a chip holds its SDA."""
        if not Pin(self._sda).value():
            self.free()


def open_buses(rows, controllers, bus_hz):
    """Open the buses of a pin map's rows, by their ids; `bus_hz` has rows for those that are not to be slow."""
    hz = {row["id"]: row["hz"] for row in bus_hz}
    return {row["id"]: Bus(row, hz.get(row["id"], BUS_HZ), row["id"] >= controllers) for row in rows}


def open_spi(rows):
    """Open the SPI buses of a pin map's rows, by their ids."""
    from hingeline_firmware.spi import SpiBus  # for those alone who need it

    return {row["id"]: SpiBus(row) for row in rows}


def configured_sensors(rows, buses):
    """Make the sensors that the configuration names on these buses, present or not."""
    return set_up(
        [
            Sensor(row["bus"], row["address"], chips.load(row["chip"]), buses[row["bus"]])
            for row in rows
            if row["bus"] in buses
        ]
    )


def find_sensors(buses):
    """Ask every address of every chip, and list the sensors that answer, by bus and address.

    A chip that answers without a known identity is listed too, in its state, so that the user learns of it.
    """
    # An address scan would be shorter, but it finds nothing on some set-ups: an identity is read instead.
    table = chips.rows()
    sensors = []
    for bus in sorted(buses):
        buses[bus].free_if_held()
        known = [row for row in table if row["wire"] == buses[bus].WIRE]
        for address in sorted({address for row in known for address in row["addresses"]}):
            rows = [row for row in known if address in row["addresses"]]
            try:
                row, trouble = _recognise(buses[bus].registers(address), rows)
            except OSError:
                continue
            sensors.append(Sensor(bus, address, chips.load(row["name"]), buses[bus], trouble))
    return set_up(sensors)


def set_up(sensors):
    """Set up sensors whose reset has been ordered; they wait for it together."""
    wait_ms = [sensor.chip.RESET_MS for sensor in sensors if sensor.resets]
    if wait_ms:
        sleep_ms(max(wait_ms))
    for sensor in sensors:
        if sensor.resets:
            sensor.end_reset()
    return sensors


def _recognise(registers, rows):
    """Tell which of the drivers reads the chip at an address, and why that is not certain; that is empty if it is.

    Raises OSError where nothing answers.
    """
    matches = [row for row in rows if registers.get(row["register"]) in row["identities"]]
    for row in rows:
        if not matches and row["first"]:  # another program may have left it in another bank
            registers.order(*row["first"])
            matches = [row] if registers.get(row["register"]) in row["identities"] else []
    if len(matches) > 1:
        matches = [row for row in matches if all(registers.get(at) == value for at, value in row["also"])] or matches
    if len(matches) > 1:
        return matches[0], "it answers as %s" % " and as ".join([row["name"] for row in matches])
    return matches[0] if matches else rows[0], ""
