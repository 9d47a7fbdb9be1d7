"""Every Markdown page: its links and anchors resolve, its commands are the program's, its written parts current."""

from __future__ import annotations

import contextlib
import re
import runpy
import shlex
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

import click
import pytest

from hingeline.cli import cli

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
ROOMS = ("docs", "firmware", "host", "shared_protocol", "calibration", "tests", "schematics")
PAGES = [*ROOT.glob("*.md"), *(page for room in ROOMS for page in (ROOT / room).rglob("*.md"))]
FENCE = re.compile(r"^```.*?^```$", re.DOTALL | re.MULTILINE)
LINK = re.compile(r"\]\(([^)\s]+)\)")


def named(page: Path) -> str:
    return str(page.relative_to(ROOT))


def anchors(page: Path) -> set[str]:
    """Return the anchors of a page, as GitHub makes them: github.com/Flet/github-slugger says how (from memory)."""
    if page.suffix != ".md":
        return set()
    found: Counter[str] = Counter()
    result = set()
    for heading in re.findall(r"^#+ +(.*)$", FENCE.sub("", page.read_text(encoding="utf-8")), re.MULTILINE):
        slug = re.sub(r"[^\w\- ]", "", re.sub(r"`|\*", "", heading).lower()).replace(" ", "-")
        result.add(f"{slug}-{found[slug]}" if found[slug] else slug)
        found[slug] += 1
    return result


def broken(page: Path) -> Iterator[str]:
    for link in LINK.findall(FENCE.sub("", page.read_text(encoding="utf-8"))):
        if re.match(r"[a-z]+:", link):
            continue
        place, _, anchor = unquote(link).partition("#")
        target = (page.parent / place).resolve() if place else page
        if not target.exists():
            yield f"{link}: no such file"
        elif anchor and anchor not in anchors(target):
            yield f"{link}: no such heading"


def commands(page: Path) -> Iterator[str]:
    """Yield every command line of a page: in blocks, behind a prompt, in comments, and within the text."""
    text = page.read_text(encoding="utf-8")
    for block in FENCE.findall(text):
        if block.startswith("```text"):  # a form, not a command
            continue
        prompt = r"\$ " if block.startswith("```console") else r"\s*"
        yield from re.findall(rf"^{prompt}(hingeline .*)$", block, re.MULTILINE)
    rest = FENCE.sub("", text)
    yield from re.findall(r"^(hingeline .*)$", rest, re.MULTILINE)
    yield from re.findall(r"`(hingeline [^`]*)`", rest)


LINES = sorted({line for page in PAGES for line in commands(page)})


def test_there_are_pages_and_commands():
    assert len(PAGES) >= 25
    assert len(LINES) >= 60


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_links_and_anchors_resolve(page):
    assert list(broken(page)) == []


@pytest.mark.parametrize("line", LINES)
def test_a_command_line_is_understood(line):
    words = shlex.split(re.split(r"\s(?:>|\||&)", line)[0], comments=True)[1:]
    command, context = cli, click.Context(cli)
    while isinstance(command, click.Group) and words and not words[0].startswith("-"):
        name = words.pop(0)
        command = command.get_command(context, name)
        assert command is not None, name
        context = click.Context(command, context, info_name=name, **command.context_settings)
    if isinstance(command, click.Group):
        assert set(words) <= {"--help", "--version"}
        return
    # a sentence may name a command without its arguments, and an option without its value
    with contextlib.suppress(click.MissingParameter, click.BadOptionUsage, click.exceptions.Exit):
        command.parse_args(context, words)


def test_the_reference_is_current():
    page = runpy.run_path(str(DOCS / "reference.py"))["page"]
    assert (DOCS / "reference.md").read_text(encoding="utf-8") == page(), "run `make docs`"


@pytest.mark.long
def test_the_figures_are_those_that_are_drawn(tmp_path):
    runpy.run_path(str(DOCS / "figures.py"))["draw"](tmp_path)
    drawn = {path.name for path in tmp_path.iterdir()}
    assert drawn == {path.name for path in DOCS.glob("*.svg")}
    links = (link for page in DOCS.rglob("*.md") for link in LINK.findall(page.read_text(encoding="utf-8")))
    assert drawn <= {Path(link).name for link in links}


def test_every_how_to_is_in_the_list():
    listed = LINK.findall((DOCS / "how-to" / "README.md").read_text(encoding="utf-8"))
    assert {path.name for path in (DOCS / "how-to").glob("*.md")} - {"README.md"} <= set(listed)
