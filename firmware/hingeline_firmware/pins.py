"""The pin map of this board: data in pinmaps/, which the wiring diagrams are drawn from too.

Its `controllers` is how many I2C controllers the microcontroller has: buses with higher numbers are run by software.
Its `kept` lists the GPIO that serve the board itself: a bus there would cut off the cable or stop the program. Sources:

ESP32     flash, USB and PSRAM: ESP-IDF, docs/en/api-reference/peripherals/gpio/; console, which is UART0: its
          components/soc/*/include/soc/uart_pins.h
Pico      SMPS mode and LED: pico-sdk, boards/pico.h; radio: its boards/pico_w.h; sense of VBUS and VSYS: from memory
Pico 2    likewise; radio: Raspberry Pi Pico 2 W schematic
"""

import json
import os
import sys

_FOLDER = __file__.rsplit("pins.", 1)[0] + "pinmaps"


def find(board=None):
    """Read the pin map named `board`, or the one for this microcontroller; None where there is no such map."""
    for file_name in os.listdir(_FOLDER):
        with open(_FOLDER + "/" + file_name) as file:
            pin_map = json.load(file)
        if pin_map["name"] == board or (board is None and _mcu() in pin_map["mcus"]):
            return pin_map
    return None


def _mcu():
    return sys.implementation._machine.split(" with ")[-1].replace("-", "")
