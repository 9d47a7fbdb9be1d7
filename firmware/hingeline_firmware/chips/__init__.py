"""Which chips can this board read? One driver a module; a table says which driver reads the chip at an address.

A driver gives its ADDRESSES, where its identity stands, what a count is worth, and five methods: `reset`, `set_up`,
`read`, `temperature_cc` and `self_test`. RESET_MS is how long the chip needs between the first two. `read` runs for
every reading and makes nothing on the heap: its buffers are made once. A driver of a chip with a FIFO has `drain` too,
which reads all that it holds, and `empty`. Further constants a driver may have:

WIRE      `spi` where the chip is on such a bus; else it is on I2C
DELAY_US  delay of the low-pass, where the datasheet has it; else that of one pole is taken
ALSO      (register, value) pairs that only this chip has, for a second look where two chips have one identity
KIN       counts per g of chips with one identity, by name: which it is, gravity tells
FIRST     (register, value) to write before the identity can be read, where a program before may have left another bank

The table `chips.jsonl` is made of these constants at the installation. A driver is loaded when its chip answers: those
that no chip needs cost neither memory nor time.
"""

import json

FILE = __file__.rsplit("chips/", 1)[0] + "chips.jsonl"


def rows():
    """Read the table: a row a driver, the one with most chips first."""
    with open(FILE) as file:
        return [json.loads(line) for line in file]


def find(name):
    """Read the row of a driver; None if there is no such driver."""
    for row in rows():
        if row["name"] == name:
            return row
    return None


def load(name):
    """Load the driver that the table calls so."""
    driver = name[0].upper() + name[1:]
    return getattr(__import__("hingeline_firmware.chips." + name, None, None, (driver,)), driver)
