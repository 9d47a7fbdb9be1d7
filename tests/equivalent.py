"""Breaks of `random_mutants.py` that change nothing anybody could see: file, what stands there, broken, and why."""

EQUIVALENT: dict[tuple[str, str, str], str] = {}
