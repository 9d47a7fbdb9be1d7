"""Ratios of speed and accuracy to other programs, measured in one run: `python -m tests.bench`."""
