"""The I2C buses of this board, and the sensors on them: each known chip is asked for its identity."""

from machine import I2C, Pin

from hingeline_firmware.chips import CHIPS
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
    return [
        Sensor(row["bus"], row["address"], CHIPS[row["chip"]], i2cs[row["bus"]]) for row in rows if row["bus"] in i2cs
    ]


def find_sensors(i2cs):
    """Ask every address of every chip, and list the sensors that answer, by bus and address.

    A chip that answers without a known identity is listed too, in its state, so that the user learns of it.
    """
    # An address scan would be shorter, but it finds nothing on some set-ups: an identity is read instead.
    sensors: "dict[int, Sensor]" = {}
    for bus in sorted(i2cs):
        for chip in CHIPS.values():
            for address in chip.ADDRESSES:
                sensor = Sensor(bus, address, chip, i2cs[bus])
                former = sensors.get(sensor.number)
                if sensor.state != "absent" and (former is None or sensor.state != "identity"):
                    sensors[sensor.number] = sensor
    return [sensors[number] for number in sorted(sensors)]
