"""The commands: a module of the same name for each. Its docstring is the help, the first line the summary."""

import click

SET_UP, MEASURE, FAULTS, KEEP = "Set up", "Measure", "Look for faults", "Keep"
SECTIONS: dict[str, dict[str, click.Command]] = {name: {} for name in (SET_UP, MEASURE, FAULTS, KEEP)}
"""The sections of `hingeline --help` in the order of the job, each with those of its commands that are imported."""
