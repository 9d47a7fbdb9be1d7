"""Which sensors this board has: each known chip is asked for its identity, at its addresses on each bus."""

from machine import I2C, Pin

from hingeline_firmware.chips import CHIPS
from hingeline_firmware.sensor import Sensor

BUS_HZ = 400000


def open_buses(buses):
    """Return {bus id: I2C} for rows of a pin map."""
    return {bus["id"]: I2C(bus["id"], scl=Pin(bus["scl"]), sda=Pin(bus["sda"]), freq=BUS_HZ) for bus in buses}


def configured(rows, i2cs):
    """Return the sensors that the configuration names, present or not, numbered in its order."""
    return [
        Sensor(number, row["bus"], row["address"], CHIPS[row["chip"]], i2cs[row["bus"]])
        for number, row in enumerate(rows)
    ]


def found(i2cs):
    """Return the sensors that answer, numbered by place, and texts about those that there is no number for.

    A bus has two places, one for each of the addresses that a chip can be given: a sensor keeps its number while
    another is away. What answers without a known identity is a sensor too, in its state, so that the user learns of it.
    """
    sensors, homeless = {}, []
    for bus in sorted(i2cs):
        for chip in CHIPS.values():
            for place, address in enumerate(chip.ADDRESSES):
                number = 2 * bus + place
                sensor = Sensor(number, bus, address, chip, i2cs[bus])
                if sensor.state == "absent":
                    continue
                if number not in sensors or sensors[number].state == "identity":
                    sensors[number] = sensor
                elif sensor.state != "identity":
                    homeless.append(
                        "bus %d has %s at 0x%02X and %s at 0x%02X, both of them sensor %d: name both in the configuration"
                        % (
                            bus,
                            sensors[number].chip.name,
                            sensors[number].address,
                            sensor.chip.name,
                            address,
                            number,
                        )
                    )
    return [sensors[number] for number in sorted(sensors)], homeless
