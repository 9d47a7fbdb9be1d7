"""Print what lets the Tab key complete what you type in SHELL.

\b
Examples, each once, for terminals opened from then on:
  hingeline completion bash >> ~/.bashrc
  hingeline completion zsh >> ~/.zshrc
  hingeline completion fish > ~/.config/fish/completions/hingeline.fish
  hingeline completion powershell >> $PROFILE

It completes commands, options, rigging sheets and their surfaces, aircraft, sensors and ports. In zsh, put the line
`autoload -Uz compinit && compinit` before it, which switches zsh's own completion on.
"""

import importlib

import click
from click.shell_completion import get_completion_class

from hingeline.cli.command import in_section
from hingeline.cli.commands import SET_UP

SHELLS = ("bash", "zsh", "fish", "powershell")


@in_section(SET_UP)
@click.command(help=__doc__)
@click.argument("shell", type=click.Choice(SHELLS))
def completion(shell: str) -> None:
    importlib.import_module("hingeline.cli.powershell")
    kind = get_completion_class(shell)
    assert kind is not None
    click.echo(kind(click.get_current_context().find_root().command, {}, "hingeline", "_HINGELINE_COMPLETE").source())
