# mypy: ignore-errors
"""What a virtual board runs at boot: the real firmware on a virtual `machine` and `time`; after it the prompt."""

import os
import sys

import virtual_machine
import virtual_time
import wire

sys.modules["machine"] = virtual_machine
sys.modules["time"] = virtual_time
if sys.implementation.name != "micropython":
    import on_cpython

    on_cpython.prepare()
wire.start()

import main  # noqa: E402, F401

wire.prompt()
os.putenv("MICROPYINSPECT", "1")  # MicroPython looks for it when the program has ended,
os.unsetenv("HOME")  # and keeps there what is typed
