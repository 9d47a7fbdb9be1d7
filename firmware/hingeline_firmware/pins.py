"""The pin map of this board: data in pinmaps/, which the wiring diagrams are drawn from too.

Its `controllers` is how many I2C controllers the microcontroller has: buses with higher numbers are run by software.
"""

import json
import os
import sys

_FOLDER = __file__.rsplit("pins.", 1)[0] + "pinmaps"


def find(board=None):
    """Return the pin map named `board`, else the one for the running microcontroller, else None."""
    mcu = sys.implementation._machine.split(" with ")[-1].replace("-", "")
    for file_name in os.listdir(_FOLDER):
        with open(_FOLDER + "/" + file_name) as file:
            pin_map = json.load(file)
        if pin_map["name"] == board or (board is None and mcu in pin_map["mcus"]):
            return pin_map
    return None
