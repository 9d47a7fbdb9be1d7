"""Prints every table."""

from tests.bench import calibration

calibration.table()
