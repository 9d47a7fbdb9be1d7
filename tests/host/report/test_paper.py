"""Pages on the disk and as PDF."""

import sys
from pathlib import Path

import pytest
from tests.host.report.conftest import run

from hingeline.errors import StoreError, UsageProblem
from hingeline.report.paper import find_renderer, write_page, write_pdf


def test_without_a_name_the_page_is_named_for_the_visit(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    outcome = run("report", "Moss Lantern")
    assert outcome.status == 0
    assert outcome.stdout == "Moss-Lantern_2026-05-17.html\n"
    assert [path.name for path in tmp_path.iterdir()] == ["Moss-Lantern_2026-05-17.html"]


def test_no_renderer_is_told_with_the_cure(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PATH", str(tmp_path))
    outcome = run("report", "Moss Lantern", "--pdf", "lantern.pdf")
    assert outcome.status == 2
    assert "No program that makes PDF" in outcome.stderr
    assert "print it to a file" in outcome.stderr
    assert [path.suffix for path in tmp_path.iterdir()] == [".html"]  # the page is there all the same


def test_a_page_that_can_t_be_written(tmp_path):
    with pytest.raises(StoreError, match=r"its folder does not exist. Make the folder, or name another file"):
        write_page(tmp_path / "no folder" / "page.html", b"")


WRITES = """#!/bin/sh
for word; do case "$word" in --print-to-pdf=*) pdf=${word#*=};; esac; done
printf '%s' "$CONTENT" > "$pdf"
exit 1
"""


@pytest.fixture
def failing_browser(tmp_path, monkeypatch):
    """A browser that writes the variable `CONTENT` and then comes to no good end."""
    program = tmp_path / "chromium"
    program.write_text(WRITES)
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:/usr/bin:/bin")


def test_a_pdf_that_is_finished_is_kept_however_the_browser_ends(failing_browser, tmp_path, monkeypatch):
    monkeypatch.setenv("CONTENT", "%PDF-1.4 %%EOF")
    write_pdf(tmp_path / "page.pdf", b"<head></head>")
    assert (tmp_path / "page.pdf").read_bytes() == b"%PDF-1.4 %%EOF"


def test_a_pdf_that_is_torn_is_not_kept(failing_browser, tmp_path, monkeypatch):
    monkeypatch.setenv("CONTENT", "%PDF-1.4")
    with pytest.raises(UsageProblem, match="chromium made no PDF"):
        write_pdf(tmp_path / "page.pdf", b"<head></head>")


@pytest.mark.parametrize(
    ("system", "variable", "file"),
    [
        ("win32", "ProgramFiles(x86)", "Microsoft/Edge/Application/msedge.exe"),
        ("win32", "LocalAppData", "Google/Chrome/Application/chrome.exe"),
        ("darwin", "HOME", "Applications/Chromium.app/Contents/MacOS/Chromium"),
    ],
)
def test_a_browser_is_sought_where_its_system_keeps_it(tmp_path, monkeypatch, system, variable, file):
    monkeypatch.setattr(sys, "platform", system)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv(variable, str(tmp_path))
    (tmp_path / file).parent.mkdir(parents=True)
    (tmp_path / file).touch()
    assert find_renderer() == (Path(file).stem.lower(), str(tmp_path / file))
