"""The pin map of this board, which is known by the name that its MicroPython gives it.

`pinmaps.jsonl` has a line a board, made from pinmaps/ at the installation; hingeline/device/install/pin_maps.py lists
its keys. Two boards with the same microcontroller have other pins: a board without a line says what to set.
"""

import json
import sys

FILE = __file__.rsplit("pins.", 1)[0] + "pinmaps.jsonl"


def find(board=None):
    """Read the pin map named `board`, or the one of this board; None where there is no such map."""
    key, wanted = ("name", board) if board is not None else ("machines", _machine())
    with open(FILE) as file:
        for line in file:
            # A line is parsed only if it can be the one: that saves a tenth of a second at each start.
            if '"%s"' % wanted in line:
                pin_map = json.loads(line)
                if wanted == pin_map[key] or (board is None and wanted in pin_map[key]):
                    return pin_map
    return None


def _machine():
    """The board's name without its microcontroller and its variant, in one spelling."""
    name = sys.implementation._machine.split(" with ")[0].split(" (")[0].lower()
    return name.replace(" ", "").replace("-", "").replace("_", "")
