"""The commands of README.md are those of the program: names, options, and values where there is a choice."""

import re
import shlex
from pathlib import Path

import click
import pytest

from hingeline.cli import cli

README = Path(__file__).parents[1] / "README.md"
LINES = [
    line.partition("#")[0].strip()
    for line in README.read_text(encoding="utf-8").splitlines()
    if re.match(r"\s+hingeline |hingeline ", line)
]


def test_the_readme_has_commands():
    assert len(LINES) >= 10


@pytest.mark.parametrize("line", LINES)
def test_a_command_of_the_readme_is_understood(line):
    command, context, words = cli, click.Context(cli), shlex.split(line)[1:]
    while isinstance(command, click.Group):
        name = words.pop(0)
        command = command.get_command(context, name)
        assert command is not None, name
        context = click.Context(command, context, info_name=name)
    values, _, order = command.make_parser(context).parse_args(words)
    for parameter in order:
        if isinstance(parameter.type, click.Choice):
            parameter.type_cast_value(context, values[parameter.name])
