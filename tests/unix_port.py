"""The MicroPython that tests run the firmware on: its wheels are for Linux on x86-64 and macOS on arm64.

Elsewhere, an Intel Mac among them, the tests that need it are skipped; the virtual boards run on CPython there.
"""

import pytest

from hingeline_virtual import process


def micropython() -> str:
    """Return the path of MicroPython; without one, leave the test that is running out."""
    path = process.micropython()
    if path is None:
        pytest.skip("needs MicroPython, which has no wheel for this computer")
    return path
