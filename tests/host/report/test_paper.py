"""Pages on the disk and as PDF."""

import pytest
from tests.host.report.conftest import run

from hingeline.errors import StoreError
from hingeline.report.paper import write_page


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
