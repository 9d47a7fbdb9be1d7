# mypy: ignore-errors
"""What a virtual board runs at boot: the real firmware on a virtual `machine` and `time`."""

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
