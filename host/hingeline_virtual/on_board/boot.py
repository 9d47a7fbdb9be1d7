# mypy: ignore-errors
"""Run at boot of a virtual board: the real firmware on a virtual `machine` and `time`, then the prompt."""

import os
import sys

import transactions
import virtual_machine
import virtual_time

sys.modules["machine"] = virtual_machine
sys.modules["time"] = virtual_time
if sys.implementation.name != "micropython":
    import on_cpython

    on_cpython.prepare()
transactions.start()

import main  # noqa: E402, F401

transactions.prompt()
os.putenv("MICROPYINSPECT", "1")  # MicroPython reads it when the program has ended,
os.unsetenv("HOME")  # where it would keep what is typed
