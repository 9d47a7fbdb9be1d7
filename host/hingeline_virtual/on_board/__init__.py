"""Files that run on a virtual board in place of its hardware, under MicroPython or CPython."""
