"""`hingeline completion`: the Tab key for commands, options, sheets and surfaces."""

from __future__ import annotations

import click

SHELLS = ("bash", "zsh", "fish")


@click.command()
@click.argument("shell", type=click.Choice(SHELLS))
def completion(shell: str) -> None:
    """Print what lets the Tab key complete commands, options, rigging sheets and surfaces in SHELL.

    \b
    Examples:
      eval "$(hingeline completion bash)"       as a line of ~/.bashrc
      eval "$(hingeline completion zsh)"        of ~/.zshrc, after compinit
      hingeline completion fish | source        of ~/.config/fish/config.fish

    It works in terminals that are opened from then on.
    """
    from click.shell_completion import get_completion_class

    from hingeline.cli import cli

    kind = get_completion_class(shell)
    assert kind is not None
    click.echo(kind(cli, {}, "hingeline", "_HINGELINE_COMPLETE").source())
