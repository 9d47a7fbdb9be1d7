"""The commands: a module of the same name for each. Its docstring is the help, the first line the summary."""

import click

ON_AIRCRAFT = "On the aircraft"
SECTIONS: dict[str, dict[str, click.Command]] = {
    name: {} for name in ("Begin", "Boards", "On the table", "Rigging sheet", ON_AIRCRAFT, "Records")
}
"""The sections of `hingeline --help` in the order of the job, each with those of its commands that are imported."""
