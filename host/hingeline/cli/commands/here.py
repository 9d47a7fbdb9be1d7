"""Show where you are in the job, and what comes next.

\b
Examples:
  hingeline
  hingeline here --port /dev/ttyACM0

`hingeline` alone does the same. It asks the boards at the ports, and looks at what this computer keeps and at the
rigging sheets of this folder.
"""

from pathlib import Path

import click
from click.core import ParameterSource

from hingeline.cli.command import command, port_option
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen
from hingeline.procedures.shell import quote
from hingeline.storage.store import Store, now_text


@command(SET_UP, port_option)
def here(screen: Screen, ports: tuple[str, ...]) -> None:
    from hingeline.cli import progress
    from hingeline.procedures.progress import next_step

    job = progress.gather_progress(ports, Path(), Store(), now_text(), screen.say)
    step = next_step(job)
    next_command = _with_ports(step.command, ports)
    rows = progress.progress_rows(job)
    text = "\n".join(f"{name.capitalize():<9}{row}" for name, row in rows.items())
    screen.data(f"{text}\n\nNext: {step.reason}\n  {next_command}", **rows, next=next_command, reason=step.reason)


def _with_ports(text: str, ports: tuple[str, ...]) -> str:
    """Add the ports that were named to a command, if it takes any; not those of the environment, which go on."""
    context = click.get_current_context()
    if context.get_parameter_source("ports") is ParameterSource.ENVIRONMENT:
        return text
    root = context.find_root()
    assert isinstance(root.command, click.Group)
    step = root.command.get_command(root, text.split()[1])
    if step is None or all("--port" not in option.opts for option in step.params):
        return text
    return " ".join([text, *(f"--port {quote(port)}" for port in ports)])
