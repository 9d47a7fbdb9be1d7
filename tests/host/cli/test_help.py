"""Every help begins with what to type, fits a terminal of 80 columns, and is cut nowhere."""

import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from hingeline.cli import cli

COLUMNS, ROWS = 80, 24
TOP = click.Context(cli, info_name="hingeline")


def commands(context: click.Context = TOP) -> Iterator[click.Context]:
    """Yield the context of every command, whatever its depth."""
    yield context
    if isinstance(context.command, click.Group):
        for name in context.command.list_commands(context):
            command = context.command.get_command(context, name)
            yield from commands(click.Context(command, context, info_name=name))


def help_of(context: click.Context) -> list[str]:
    return context.command.get_help(context).splitlines()


def examples(context: click.Context) -> list[str]:
    """Return the commands of the examples, without what is said of them or where their output goes."""
    lines = help_of(context)
    first = next(number for number, line in enumerate(lines) if line.startswith("  Example"))
    block = lines[first + 1 : lines.index("", first)]
    return [re.split(r"\s{2,}|\s+>", line.strip())[0] for line in block]


CONTEXTS = {context.command_path: context for context in commands()}
EXAMPLES = [(path, line) for path, context in CONTEXTS.items() for line in examples(context)]


@pytest.mark.parametrize("path", CONTEXTS)
def test_help_begins_with_a_line_and_examples_and_fits(path, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(COLUMNS))
    lines = help_of(CONTEXTS[path])
    assert lines[0].startswith("Usage:")
    below = lines[lines.index("") :]
    assert below[1].endswith((".", "?")), "the summary is one line"
    assert (below[0], below[2]) == ("", "")
    assert below[3].startswith("  Example")
    assert max(map(len, lines)) <= COLUMNS
    assert not [line for line in lines if line.endswith("...") and not line.startswith("Usage:")]


@pytest.mark.parametrize("path", [path for path in CONTEXTS if path != "hingeline"])
def test_the_help_of_a_command_fits_a_screen_and_leaves_a_line_to_type(path, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(COLUMNS))
    assert len(help_of(CONTEXTS[path])) < ROWS


@pytest.mark.parametrize("path", CONTEXTS)
def test_no_option_is_missing(path, monkeypatch):
    """Those of its own with what they do, those that it shares by name; and `help options` says what these do."""
    monkeypatch.setenv("COLUMNS", "200")
    command = CONTEXTS[path].command
    text = command.get_help(CONTEXTS[path])
    names = [one.opts[-1] for one in command.params if isinstance(one, click.Option)]
    assert [name for name in names if name not in text.replace(",", " ").replace("/", " ").split()] == []
    options = CliRunner().invoke(cli, ["help", "options"], standalone_mode=False).output
    shared = getattr(command, "shared", ())
    assert [
        one.opts[-1] for one in command.params if one.name in shared and f"\n{one.opts[-1]}" not in f"\n{options}"
    ] == []


@pytest.mark.parametrize("words", [["throws"], ["rig", "new"], ["drift-check"], ["closure"], []])
def test_help_with_a_command_is_its_help(words):
    told = CliRunner().invoke(cli, ["help", *words], standalone_mode=False, prog_name="hingeline").output
    assert told == CliRunner().invoke(cli, [*words, "--help"], standalone_mode=False, prog_name="hingeline").output


def test_the_shared_options_fit_a_screen(monkeypatch):
    monkeypatch.setenv("COLUMNS", str(COLUMNS))
    told = CliRunner().invoke(cli, ["help", "options"], standalone_mode=False).output
    assert len(told.splitlines()) <= ROWS
    assert max(map(len, told.splitlines())) <= COLUMNS


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        (["trows"], "There is no command 'trows'. Try throws."),
        (["rig", "chekc"], "There is no command 'chekc'. Try check."),
        (["help", "trows"], "There is no command 'trows'. Try throws."),
        (["qqqq"], "There is no command 'qqqq'. Try one that `hingeline --help` lists."),
        (["throws"], "Missing argument 'RIG'. See `hingeline throws --help`."),
        (["rig", "show", "--qqqq"], "No such option '--qqqq'. See `hingeline rig show --help`."),
        (
            ["watch", "--for", "x"],
            "Invalid value for '--for': 'x' is not a valid float range. See `hingeline watch --help`.",
        ),
        (["demo", "a", "b"], "Got unexpected extra arguments (a b). See `hingeline demo --help`."),
        (["--qqqq"], "No such option '--qqqq'. See `hingeline --help`."),
    ],
)
def test_what_is_mistyped_is_answered_in_one_line(words, answer):
    told = subprocess.run(
        [Path(sys.executable).parent / "hingeline", *words], capture_output=True, text=True, check=False
    )
    assert (told.returncode, told.stdout, told.stderr) == (2, "", f"hingeline: {answer}\n")


@pytest.mark.parametrize("path", CONTEXTS)
def test_every_option_tells_what_it_does(path):
    options = [one for one in CONTEXTS[path].command.params if isinstance(one, click.Option)]
    assert not [one.opts for one in options if not one.help]


@pytest.mark.parametrize("path", CONTEXTS)
def test_a_value_is_told_by_what_it_is(path):
    """Its unit, or what it counts or names; not the type of the program."""
    assert not re.search(r"\b(FLOAT|INTEGER|RANGE)\b", "\n".join(help_of(CONTEXTS[path])))


@pytest.mark.parametrize(("path", "line"), EXAMPLES)
def test_an_example_is_understood(path, line):
    """By the parser of the very command, types and choices too."""
    program, *words = shlex.split(line)
    assert program == "hingeline"
    command, context = cli, TOP
    while isinstance(command, click.Group) and words:
        name = words.pop(0)
        command = command.get_command(context, name)
        assert command is not None, name
        context = click.Context(command, context, info_name=name)
    command.make_context(command.name, words, parent=context.parent)
