"""The I2C buses of this board, and the sensors on them: each known chip is asked for its identity."""

from time import sleep_ms

from machine import I2C, Pin

from hingeline_firmware import chips
from hingeline_firmware.registers import Registers
from hingeline_firmware.sensor import Sensor

BUS_HZ = 100000
"""Slow, for leads of half a metre and whatever pull-ups the modules have."""
HANGING_US = 5000
"""A bus that hangs is given up after this: the usual 50 ms would cost the other sensors their lines."""


def open_buses(rows, controllers):
    """Open the buses of a pin map's rows, by their ids; those beyond the controllers are run by software."""
    return {row["id"]: _open(row["id"], Pin(row["scl"]), Pin(row["sda"]), controllers) for row in rows}


def _open(number, scl, sda, controllers):
    if number < controllers:
        return I2C(number, scl=scl, sda=sda, freq=BUS_HZ, timeout=HANGING_US)
    from machine import SoftI2C  # the same reads and writes, for those alone who need it

    return SoftI2C(scl=scl, sda=sda, freq=BUS_HZ, timeout=HANGING_US)


def configured_sensors(rows, i2cs):
    """Make the sensors that the configuration names on these buses, present or not."""
    return set_up(
        [
            Sensor(row["bus"], row["address"], chips.load(row["chip"]), i2cs[row["bus"]])
            for row in rows
            if row["bus"] in i2cs
        ]
    )


def find_sensors(i2cs):
    """Ask every address of every chip, and list the sensors that answer, by bus and address.

    A chip that answers without a known identity is listed too, in its state, so that the user learns of it.
    """
    # An address scan would be shorter, but it finds nothing on some set-ups: an identity is read instead.
    table = chips.rows()
    addresses = sorted({address for row in table for address in row["addresses"]})
    sensors = []
    for bus in sorted(i2cs):
        for address in addresses:
            rows = [row for row in table if address in row["addresses"]]
            try:
                row, trouble = _recognise(Registers(i2cs[bus], address), rows)
            except OSError:
                continue
            sensors.append(Sensor(bus, address, chips.load(row["name"]), i2cs[bus], trouble))
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
    found = [row for row in rows if registers.get(row["register"]) in row["identities"]]
    for row in rows:
        if not found and row["first"]:  # another program may have left it in another bank
            registers.order(*row["first"])
            found = [row] if registers.get(row["register"]) in row["identities"] else []
    if len(found) > 1:
        found = [row for row in found if all(registers.get(at) == value for at, value in row["also"])] or found
    if len(found) > 1:
        return found[0], "it answers as %s" % " and as ".join([row["name"] for row in found])
    return found[0] if found else rows[0], ""
