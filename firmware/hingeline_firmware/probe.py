"""Which sensors this board has: each known chip is asked for its identity, at its addresses on each bus."""

from machine import I2C, Pin

from hingeline_firmware.chips import CHIPS
from hingeline_firmware.sensor import Sensor

BUS_HZ = 100000
"""Slow, for leads of half a metre and whatever pull-ups the modules have."""
HANGING_US = 5000
"""A bus that hangs is given up after this: the usual 50 ms would cost the other sensors their lines."""


def open_buses(buses, controllers):
    """Return {bus id: I2C} for rows of a pin map; of more buses than there are controllers, the last by software."""
    return {bus["id"]: _open(bus["id"], Pin(bus["scl"]), Pin(bus["sda"]), controllers) for bus in buses}


def _open(number, scl, sda, controllers):
    if number < controllers:
        return I2C(number, scl=scl, sda=sda, freq=BUS_HZ, timeout=HANGING_US)
    from machine import SoftI2C  # the same reads and writes, for those alone who need it

    return SoftI2C(scl=scl, sda=sda, freq=BUS_HZ, timeout=HANGING_US)


def configured(rows, i2cs):
    """Return the sensors that the configuration names on these buses, present or not."""
    return [
        Sensor(row["bus"], row["address"], CHIPS[row["chip"]], i2cs[row["bus"]])
        for row in rows
        if row["bus"] in i2cs
    ]


def found(i2cs):
    """Return the sensors that answer, in the order of buses and chips.

    What answers without a known identity is a sensor too, in its state, so that the user learns of it.
    """
    sensors: "dict[int, Sensor]" = {}
    for bus in sorted(i2cs):
        for chip in CHIPS.values():
            for address in chip.ADDRESSES:
                sensor = Sensor(bus, address, chip, i2cs[bus])
                former = sensors.get(sensor.number)
                if sensor.state != "absent" and (former is None or sensor.state != "identity"):
                    sensors[sensor.number] = sensor
    return [sensors[number] for number in sorted(sensors)]
