"""Files for the virtual board: MicroPython and CPython run them in the firmware's place for hardware."""
