"""Write the manual page, docs/hingeline.1, from the commands' own help: `make manual`.

One page holds all commands. It is kept in the repository and goes with the wheel, so that `man hingeline` works where
hingeline was installed; a test tells when it is out of date.
"""

import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import click

from hingeline import __version__
from hingeline.cli import EPILOG, cli

PAGE = Path(__file__).with_name("hingeline.1")
COMMON = ("as_json", "no_input")
"""Options of every command that measures, told once."""
ENVIRONMENT = {
    "HINGELINE_HOME": "Folder of calibrations, datum, settings and sessions, instead of the system's.",
    "HINGELINE_PORT": "Ports of the boards, divided by spaces, where `--port` names none.",
    "HINGELINE_WIFI_PASSWORD": "Password of the network, for `hingeline wifi`.",
    "HINGELINE_KEY": "Key of a board on the network, where this computer keeps none.",
    "NO_COLOR": "Nothing on the screen has a colour.",
}
_SIGNS = {"\\": r"\e", "-": r"\-", "~": r"\(ti", "^": r"\(ha", "'": r"\(aq", "`": r"\(ga"}


def page() -> str:
    """Return the page, in man(7)."""
    return "\n".join(_page()) + "\n"


def _page() -> Iterator[str]:
    context = click.Context(cli, info_name="hingeline")
    summary, *described = _paragraphs(cli)
    yield f'.TH HINGELINE 1 "" "hingeline {__version__}" "hingeline"'
    yield from (".SH NAME", rf"hingeline \- {_words(summary.rstrip('.'))}")
    yield from (".SH SYNOPSIS", r".B hingeline\fR [\fICOMMAND\fR] [\fIOPTIONS\fR] [\fIARGUMENTS\fR]")
    yield ".SH DESCRIPTION"
    for one in described:
        yield from _paragraph(one)
    yield ".SH COMMANDS"
    for name in cli.list_commands(context):
        command = cli.get_command(context, name)
        assert command is not None
        yield from _command(command, f"hingeline {name}")
    yield ".SH OPTIONS OF MOST COMMANDS"
    sample = cli.get_command(context, "boards")
    assert sample is not None
    yield from _options([one for one in sample.params if one.name in COMMON])
    yield ".SH EXIT STATUS"
    yield from _paragraph(EPILOG.replace("\b\n", ""))
    yield ".SH ENVIRONMENT"
    for variable, text in ENVIRONMENT.items():
        yield from _tagged(rf"\fB{variable}\fR", text)


def _command(command: click.Command, path: str) -> Iterator[str]:
    """Yield a command with its options, and those below it."""
    arguments = [one for one in command.params if isinstance(one, click.Argument)]
    below = [r"\fICOMMAND\fR"] if isinstance(command, click.Group) else []
    yield " ".join([".SS", _words(path), *map(_argument, arguments), *below])
    for one in _paragraphs(command):
        yield from _paragraph(one)
    yield from _options([one for one in command.params if one.name not in COMMON])
    if isinstance(command, click.Group):
        for name, inner in command.commands.items():
            yield from _command(inner, f"{path} {name}")


def _argument(one: click.Argument) -> str:
    name = _words(one.name.upper()) + (" ..." if one.nargs == -1 else "")
    return rf"\fI{name}\fR" if one.required else rf"[\fI{name}\fR]"


def _options(parameters: list[click.Parameter]) -> Iterator[str]:
    for one in parameters:
        if not isinstance(one, click.Option):
            continue
        names = ", ".join(rf"\fB{_words(name)}\fR" for name in (*one.opts, *one.secondary_opts))
        default = f" Default: {one.default}." if one.show_default else ""
        yield from _tagged(names + _value(one), f"{one.help}{default}")


def _value(one: click.Option) -> str:
    if one.is_flag:
        return ""
    if isinstance(one.type, click.Choice):
        return " " + "|".join(rf"\fB{_words(choice)}\fR" for choice in one.type.choices)
    assert one.metavar is not None, f"{one.name} has no metavar"
    return rf" \fI{_words(one.metavar)}\fR"


def _tagged(tag: str, text: str) -> Iterator[str]:
    yield from (".TP", tag, _line(text))


def _paragraphs(command: click.Command) -> list[str]:
    return re.split(r"\n\n+", inspect.cleandoc(command.help or ""))


def _paragraph(text: str) -> Iterator[str]:
    """Yield a paragraph; the lines of one that click leaves alone stay."""
    if not text.startswith("\b\n"):
        yield from (".PP", *map(_line, text.split("\n")))
        return
    heading, *lines = text.removeprefix("\b\n").split("\n")
    yield from (".PP", _line(heading), ".PP", ".EX", *(_words(line.strip()) for line in lines), ".EE")


def _line(text: str) -> str:
    """Return a line of prose; what stands between backticks is to be typed."""
    parts = [_words(part) for part in text.split("`")]
    for place in range(1, len(parts), 2):
        parts[place] = rf"\fB{parts[place]}\fR"
    return "".join(parts)


def _words(text: str) -> str:
    """Return text as roff understands it, in ASCII."""
    signs = (_SIGNS.get(sign, sign if sign.isascii() else rf"\[u{ord(sign):04X}]") for sign in text)
    joined = "".join(signs)
    return rf"\&{joined}" if joined.startswith(".") else joined


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="ascii")
