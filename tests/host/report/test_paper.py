"""Pages on the disk and as PDF."""

import sys
from pathlib import Path

import pytest
from tests.host.report.conftest import run
from tests.posix import write_program

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


WRITES = """\
for word; do case "$word" in --print-to-pdf=*) pdf=${word#*=};; esac; done
printf '%s' "$CONTENT" > "$pdf"
exit 1
"""


@pytest.fixture
def failing_browser(tmp_path, monkeypatch):
    """A browser that writes the variable `CONTENT` and then comes to no good end."""
    write_program(tmp_path / "chromium", WRITES)
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


PRINTS = """#!/bin/sh
printf '%s\\n' "$@" > "$LOG"
for word; do pdf=$word; case "$word" in --print-to-pdf=*) pdf=${word#*=}; break;; esac; done
test -z "$PAGE" || for word; do case "$word" in *page.html) /bin/cp "${word#file://}" "$PAGE";; esac; done
test -z "$CONTENT" || printf '%s' "$CONTENT" > "$pdf"
printf 'a first line\\na last line\\n' >&2
exit $STATUS
"""


@pytest.fixture
def renderer(tmp_path, monkeypatch):
    """Have a renderer that says what it is given, and does what it is told to."""

    def make(name, content="%PDF-1.4 %%EOF", status=0):
        program = tmp_path / name
        program.write_text(PRINTS)
        program.chmod(0o755)
        monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
        for variable, value in {
            "PATH": tmp_path,
            "LOG": tmp_path / "log",
            "PAGE": tmp_path / "seen.html",
            "CONTENT": content,
            "STATUS": status,
        }.items():
            monkeypatch.setenv(variable, str(value))
        return tmp_path / "log"

    return make


@pytest.mark.parametrize(("user", "first"), [(0, "--no-sandbox"), (1000, "--headless")])
def test_a_browser_prints_the_page_on_a4_for_root_without_a_sandbox(renderer, tmp_path, monkeypatch, user, first):
    """Chromium refuses to start for root otherwise (its own message: "Running as root without --no-sandbox")."""
    log = renderer("chromium")
    monkeypatch.setattr("os.geteuid", lambda: user, raising=False)
    write_pdf(tmp_path / "page.pdf", b"<html><head></head><body>flap</body></html>")
    options = log.read_text().split()
    assert options[0] == first
    assert {"--headless", "--no-pdf-header-footer"} < set(options)
    assert "size: A4" in (tmp_path / "seen.html").read_text()
    assert (tmp_path / "page.pdf").read_bytes() == b"%PDF-1.4 %%EOF"


def test_another_renderer_is_given_page_and_pdf_alone(renderer, tmp_path, monkeypatch):
    log = renderer("weasyprint")
    monkeypatch.setattr("os.geteuid", lambda: 0, raising=False)
    write_pdf(tmp_path / "page.pdf", b"<head></head>")
    assert [Path(word).name for word in log.read_text().split()] == ["page.html", "page.pdf"]


@pytest.mark.parametrize(
    ("ends", "why"),
    [
        (("", 1), "made no PDF: a last line"),
        (("", 0), "made no PDF of the page"),
        (("%PDF", 2), "made no PDF: a last line"),
    ],
)
def test_what_a_renderer_said_last_is_why_there_is_no_pdf(renderer, tmp_path, capfd, ends, why):
    renderer("chromium", *ends)
    with pytest.raises(UsageProblem, match=f"^chromium {why}\\.? ?"):
        write_pdf(tmp_path / "page.pdf", b"<head></head>")
    assert not (tmp_path / "page.pdf").exists()
    assert capfd.readouterr() == ("", ""), "its talk is not the user's"


def test_a_renderer_that_hangs_is_told_as_such(renderer, tmp_path, monkeypatch):
    renderer("chromium")
    (tmp_path / "chromium").write_text("#!/bin/sh\nexec /bin/sleep 60\n")
    monkeypatch.setattr("hingeline.report.paper.PATIENCE_S", 0.2)
    with pytest.raises(UsageProblem, match="timed out after"):
        write_pdf(tmp_path / "page.pdf", b"<head></head>")


def test_open_gives_the_page_to_the_browser_that_the_system_names(tmp_path, monkeypatch):
    """BROWSER names it, as Python's documentation of `webbrowser` says; without any, the file is there all the same."""
    write_program(tmp_path / "browser", 'printf "%s" "$1" > opened\n')
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BROWSER", str(tmp_path / "browser"))
    assert run("report", "Moss Lantern", "-o", "a b.html", "--open").status == 0
    assert (tmp_path / "opened").read_text() == (tmp_path / "a b.html").as_uri()
    write_program(tmp_path / "browser", "exit 1\n")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("DISPLAY", raising=False)
    outcome = run("report", "Moss Lantern", "-o", "b.html", "--open")
    assert outcome.status == 2
    assert "No browser could be started for b.html. Open the file yourself" in outcome.stderr
    assert (tmp_path / "b.html").is_file()
