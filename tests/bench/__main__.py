"""Prints every table."""

from tests.bench import calibration, line

line.table()
print()
calibration.table()
