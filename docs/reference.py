"""Write docs/reference.md from what the program says of itself: commands, statuses, files, keys: `make docs`."""

from __future__ import annotations

import inspect
import re
import runpy
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path

import click

from hingeline import errors
from hingeline.cli import cli, summarize
from hingeline.live.keys import KEY_WORDS, KEYS

DOCS = Path(__file__).parent
PAGE = DOCS / "reference.md"
ENVIRONMENT: dict[str, str] = runpy.run_path(str(DOCS / "manual.py"))["ENVIRONMENT"]
SHARED = {
    "Every command": ("as_json", "no_input"),
    "Commands that talk to boards": ("ports",),
    "Commands that measure on an aircraft": ("left", "right", "fixed", "replay", "hold_s"),
    "What shows and sounds while they measure": (
        "plain",
        "quiet",
        "speak",
        "page",
        "page_on",
        "page_capture",
    ),
}
"""Options that several commands share, told once."""
SAMPLE = "throws"
"""It has all of these."""
_NAMES = {"\x7f": "Backspace", "\b": "Ctrl-H", " ": "Space", "\r": "Enter", "\x1b[6~": "Page Down"}
_DOUBLED = ("\n", "\x1bq")
"""The same keys, as other systems send them."""
HEAD = """\
# Reference

Written by `docs/reference.py` from the commands themselves: change them, then run `make docs`.
The same as a manual page is [hingeline.1](hingeline.1). Tutorial: [first-evening.md](first-evening.md).
One page a check: [how-to](how-to/README.md). Formulas: [background.md](background.md).
What `--json` prints: [json.md](json.md).
"""
FILES = """\
## Files

Everything is kept in one folder, the system's for a user's data (Linux: `~/.local/share/hingeline`) or the one
that `HINGELINE_HOME` names. Files are numbered, the last one counts, none is overwritten; each carries its format's
version and a checksum, and one of a later version than this program knows is refused as such.

| where | what |
|---|---|
| `calibration/SENSOR/` | calibrations of a sensor; a copy is on its board |
| `datum/bench/` | the datum, with what `hingeline drift-check` found |
| `hinge/AIRCRAFT-SURFACE-SIDE/` | hinges that `hingeline hinge` found, for one session |
| `settings/` | which sensor is left and right; keys of boards on the network |
| `sessions/AIRCRAFT/DATE_TIME/` | a session: everything measured in one sitting |
| `sessions/AIRCRAFT/DATE_TIME/2-throws.log` | a run: every line as it came, every result, all that `--replay` needs |
| `lock` | held while something is saved |

Yours are the rigging sheets, `NAME.rig.toml` ([rigging-sheet.md](rigging-sheet.md)), scenarios of the virtual bench
([scenario.md](scenario.md)), and the pages that `hingeline report` and `hingeline compare` write. There is no other
configuration.
"""


def page() -> str:
    """Return the page."""
    return "\n".join([HEAD, *_commands(), FILES])


def _commands() -> Iterator[str]:
    context = click.Context(cli, info_name="hingeline")
    yield "## Commands\n"
    sections = summarize(context)
    for section, summaries in sections.items():
        yield f"| {section} | |\n|---|---|"
        yield from (f"| [`hingeline {name}`](#hingeline-{name}) | {text} |" for name, text in summaries.items())
        yield ""
    sample = cli.get_command(context, SAMPLE)
    assert sample is not None
    told = {one.name: one for one in sample.params}
    yield "## Shared options\n\nEach command lists below which of these it has.\n"
    for heading, names in SHARED.items():
        yield f"**{heading}**\n\n{_table([told[name] for name in names])}\n"
    yield "## Each command\n"
    for name in chain.from_iterable(sections.values()):
        command = cli.get_command(context, name)
        assert command is not None
        yield from _command(command, f"hingeline {name}", "###")
    yield "## Exit status\n"
    yield from _statuses()
    yield "## Environment\n\n| variable | |\n|---|---|"
    yield from (f"| `{name}` | {text} |" for name, text in ENVIRONMENT.items())
    yield "\n## Keys\n\nWhile a command measures at a terminal. A foot switch or a clicker is a keyboard of one key.\n"
    yield "| key | |\n|---|---|"
    for key, meaning in KEYS.items():
        if key not in _DOUBLED:
            yield f"| `{_NAMES.get(key, key)}` | {KEY_WORDS[meaning]} |"
    yield "| any other | nothing |\n"


def _command(command: click.Command, path: str, level: str) -> Iterator[str]:
    shared = {name for names in SHARED.values() for name in names}
    arguments = " ".join(
        one.make_metavar(click.Context(command)) for one in command.params if isinstance(one, click.Argument)
    )
    below = "COMMAND" if isinstance(command, click.Group) else ""
    typed = " ".join(part for part in (path, arguments, below) if part)
    yield f"{level} {path}\n\n```text\n{typed}\n```\n"
    yield from (f"{_prose(part)}\n" for part in re.split(r"\n\n+", inspect.cleandoc(command.help or "")))
    own = [one for one in command.params if isinstance(one, click.Option) and one.name not in shared]
    if own:
        yield f"{_table(own)}\n"
    common = [f"`{one.opts[-1]}`" for one in command.params if one.name in shared]
    if common:
        yield f"Shared options: {', '.join(common)}.\n"
    if isinstance(command, click.Group):
        for name, inner in command.commands.items():
            yield from _command(inner, f"{path} {name}", f"{level}#")


def _prose(text: str) -> str:
    if not text.startswith("\b\n"):
        return text.replace("\n", " ")
    heading, *lines = text.removeprefix("\b\n").split("\n")
    return "\n".join([heading, "", "```sh", *(line.strip() for line in lines), "```"])


def _table(parameters: Sequence[click.Parameter]) -> str:
    rows = ["| option | | default |", "|---|---|---|"]
    for one in parameters:
        assert isinstance(one, click.Option)
        names = ", ".join(f"`{name}`" for name in (*one.opts, *one.secondary_opts))
        default = f"`{one.default}`" if one.show_default else ""
        rows.append(f"| {names}{_value(one)} | {one.help} | {default} |")
    return "\n".join(rows)


def _value(one: click.Option) -> str:
    if one.is_flag:
        return ""
    if isinstance(one.type, click.Choice):
        return " " + " or ".join(f"`{choice}`" for choice in one.type.choices)
    return f" {one.metavar}" + (", may repeat" if one.multiple else "")


def _statuses() -> Iterator[str]:
    """Yield the tree of errors with the status of each, as a table."""
    yield "| status | when |\n|---|---|\n| 0 | done, and within the tolerance you set |"
    by_status: dict[int, list[str]] = {}
    for one in vars(errors).values():
        if isinstance(one, type) and issubclass(one, errors.HingelineError) and one is not errors.HingelineError:
            summary = (inspect.getdoc(one) or "").split("\n\n")[0].replace("\n", " ")
            by_status.setdefault(one.exit_status, []).append(f"{summary} (`{one.__name__}`)")
    for status, words in sorted(by_status.items()):
        yield f"| {status} | {'<br>'.join(words)} |"
    yield "| 70 | a fault of hingeline itself: one line names the file with its report |"
    yield "| 141 | the reader of its output ended, as `head` does |\n"
    yield "What the mathematics refuses, such as a hinge near the plumb line, ends with 7, a damaged record with 2."
    yield "An error says what was seen, what was expected and what to do next, on standard error.\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
