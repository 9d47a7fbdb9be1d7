"""The first pages to read are short, in short sentences and lines; generated blocks and tables are let alone."""

from __future__ import annotations

import re
import runpy
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
NEW = ("architecture", "contributing", "first-evening", "glossary", "threat-model")
PAGES = [
    *(ROOT / "README.md", ROOT / "DEVELOPERS.md"),
    *(DOCS / f"{name}.md" for name in NEW),
    *sorted((DOCS / "how-to").glob("*.md")),
]
COLUMNS = 120
MOST_WORDS = 30
"""In a sentence. Style asks for 25; where a list or a term needs more, these."""
LONGEST = {"README.md": 600, "DEVELOPERS.md": 900}
FENCE = re.compile(r"^```.*?^```$", re.DOTALL | re.MULTILINE)
COMMENT = re.compile(r"^<!--.*?-->$", re.DOTALL | re.MULTILINE)
END = re.compile(r"[.!?](?:[*`)”\"]*)(?=\s|$)")


def named(page: Path) -> str:
    return str(page.relative_to(ROOT))


def prose(page: Path) -> str:
    """A page without what a script writes, what is typed, and comments."""
    return COMMENT.sub("", FENCE.sub("", page.read_text(encoding="utf-8")))


def sentences(text: str) -> list[str]:
    """The sentences of running text: tables are left out, an item of a list or a heading begins a new one."""
    blocks: list[str] = []
    for line in text.splitlines():
        if line.lstrip().startswith("|") or not line.strip():
            blocks.append("")
            continue
        begins = bool(re.match(r"\s*(?:#+ |[-*] |\d+\. )", line)) or not blocks
        words = re.sub(r"^\s*(?:#+ |[-*] |\d+\. |> ?)", "", line)
        if begins or not blocks[-1]:
            blocks.append(words)
        else:
            blocks[-1] += " " + words
    return [part.strip() for block in blocks for part in END.split(block) if part.strip()]


def words(text: str) -> list[str]:
    """What is counted: what is typed, between backticks, is one word, and so is a link's address."""
    text = re.sub(r"`[^`]*`", "typed", re.sub(r"\]\([^)]*\)", "]", text))
    return [word for word in text.split() if re.search(r"\w", word)]


@pytest.mark.parametrize(("name", "most"), LONGEST.items())
def test_a_first_page_is_short(name, most):
    assert len((ROOT / name).read_text(encoding="utf-8").split()) <= most


def test_three_pictures_come_before_the_third_paragraph_of_the_readme():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    before, _, _ = text.partition("## Two commands")
    pictures = re.findall(r"docs/pictures/[\w.]+", before)
    paragraphs = [part for part in before.split("\n\n")[1:] if not re.match(r"[|<]", part)]
    assert len(set(pictures)) == 3
    assert len(paragraphs) <= 2
    for picture in pictures:
        assert 1000 < (ROOT / picture).stat().st_size < 200_000, picture


def test_the_taped_sensor_is_as_it_is_drawn(tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "path", [str(DOCS), *sys.path])
    runpy.run_path(str(DOCS / "pictures.py"))["draw_taped"](tmp_path)
    drawn, kept = tmp_path / "taped.svg", DOCS / "pictures" / "taped.svg"
    assert drawn.read_text(encoding="utf-8") == kept.read_text(encoding="utf-8")


def modules(text: str) -> set[Path]:
    """The files that a page for developers names, by path or by room: `HOST/live/keys.py`, `live.screen.LiveScreen`."""
    host = ROOT / "host" / "hingeline"
    rooms = "|".join(path.name for path in host.iterdir() if path.is_dir())
    paths = {ROOT / name for name in re.findall(r"`((?:\w+/)+[a-z_\d.]+\.(?:py|json|md))`", text)}
    in_rooms = {host / name for name in re.findall(r"`HOST/((?:\w+/)+[a-z_\d.]+\.\w+)`", text)}
    dotted = re.findall(rf"`(?:hingeline\.)?((?:{rooms})(?:\.[a-z_]+)+)(?:\.[A-Z]\w+)?`", text)
    return (
        {path for path in paths if "HOST" not in path.parts}
        | in_rooms
        | {host.joinpath(*name.split(".")).with_suffix(".py") for name in dotted}
    )


@pytest.mark.parametrize("name", ["DEVELOPERS.md", "docs/architecture.md", "docs/contributing.md"])
def test_the_modules_that_are_named_exist(name):
    named_modules = modules((ROOT / name).read_text(encoding="utf-8"))
    assert named_modules
    assert not {str(path.relative_to(ROOT)) for path in named_modules if not path.exists()}


def test_the_procedure_that_is_shown_is_the_real_one():
    (block,) = re.findall(r"```python\n(.*?)```", (DOCS / "architecture.md").read_text(encoding="utf-8"), re.DOTALL)
    code = (ROOT / "host/hingeline/procedures/datum.py").read_text(encoding="utf-8")
    without_docstrings = re.sub(r'\n +"""[^"]*"""(\n(?=\n))?', "", code)
    assert block in without_docstrings


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_lines_are_no_longer_than_a_terminal_is_wide(page):
    lines = enumerate(prose(page).splitlines(), 1)
    assert not [line for _, line in lines if len(line) > COLUMNS]


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_no_sentence_is_long(page):
    assert not [sentence for sentence in sentences(prose(page)) if len(words(sentence)) > MOST_WORDS]


def test_sentences_are_told_apart():
    text = "# A title\n\nOne two. Three\nfour. Five?\n\n- six\n- seven\n\n| a table | is left out |\n"
    assert sentences(text) == ["A title", "One two", "Three four", "Five", "six", "seven"]


def test_commit_hooks_run_what_lint_runs():
    """Each target that `make lint` is made of is the entry of a hook."""
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    (targets,) = re.findall(r"^lint: (.*)$", makefile, re.MULTILINE)
    hooks = (ROOT / ".pre-commit-config.yaml").read_text(encoding="utf-8")
    assert [f"make {name}" for name in targets.split()] == re.findall(r"entry: (.*)", hooks)
    assert "http" not in hooks
