"""Names that would be markup, a template, mathematics, a path or a terminal's command come out as mere names."""

import json
import re

import pytest
from tests.host.report.conftest import judged, run
from tests.host.report.pages import Page

from hingeline.report.page import report_page
from hingeline.report.paper import default_name
from hingeline.report.results import read_session
from hingeline.storage.sessions import Session, read_run

NAMES = (
    "<script>alert(1)</script>",
    "\"><img src=x onerror='alert(1)'>",
    "{{ 7 * 7 }}{% raw %}",
    "$\\frac{1}{",
    "../../../etc/passwd",
    "</style></svg><b>&lt;",
    "\x1b[2J\x1b]0;owned\x07",
    "\u202egnp.exe",
    'url(#a) id="x',
)


def events(name):
    throw = {
        "surface": name,
        "mode": name,
        "command": name,
        "judgements": [judged(name, verdict=name, advice=name)],
    }
    finding = {
        "name": name,
        "value": 0.5,
        "unit": "deg",
        "standard_uncertainty": 0.1,
        "interval_95": [0.3, 0.7],
        "limit": 0.2,
        "inside": False,
        "candidates": [name],
    }
    play = {
        "surface": name,
        "results": [finding],
        "notes": [name],
        "check": "play",
        "rests_deg": {"left": {name: [0.1, 0.2]}},
    }
    went = {"deg": 5.0, "went": name, "expected": name, "right_way": False}
    direction = {"surface": name, "command": name, "sides": {"left": went}, "inside": False}
    return (
        ("throw", throw),
        ("play", play),
        ("direction", direction),
        ("caution", {"text": name}),
        (name, {}),
    )


def beside_drawings(page):
    """The page without what is drawn in its figures."""
    return Page(re.sub(r"<svg.*?</svg>", "", page.source, flags=re.DOTALL).encode())


@pytest.mark.parametrize("name", NAMES)
def test_a_page_shows_them_as_they_are(made, name):
    page = Page(report_page(made(*events(name), aircraft=name)))
    harmless = Page(report_page(made(*events("name"), aircraft="name")))
    assert page.tags.keys() == harmless.tags.keys()
    beside, expected = beside_drawings(page), beside_drawings(harmless)  # axes have more ticks beside shorter labels
    assert beside.tags == expected.tags
    assert [name for name, _ in beside.attributes] == [name for name, _ in expected.attributes]
    assert page.source.isprintable() or set(filter(lambda one: not one.isprintable(), page.source)) <= {"\n"}
    shown = "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in name)
    assert page.text.count(" ".join(shown.split())) >= 10
    assert len(page.drawings) == 2


@pytest.mark.parametrize("name", NAMES)
def test_a_file_is_named_within_its_folder(name):
    path = default_name(name, "2026-05-17")
    assert len(path.parts) == 1
    assert not path.name.startswith(".")
    assert path.name.isascii() or path.name.isprintable()


@pytest.mark.parametrize("name", NAMES)
def test_a_terminal_is_told_nothing_but_text(made, name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    made(*events(name), aircraft=name)
    made(*events("name"), aircraft="name")
    files = [str(path) for path in sorted((tmp_path / "home").rglob("*.log"))]
    commands = (
        ["sessions"],
        ["report", files[0]],
        ["report", name],
        ["compare", *files],
        ["compare", name, "none"],
    )
    for arguments in commands:
        outcome = run(*arguments, home=tmp_path / "home")
        told = outcome.stdout + outcome.stderr
        assert all(letter.isprintable() or letter == "\n" for letter in told), told
    written = {path.relative_to(tmp_path).parts[0] for path in tmp_path.rglob("*.html")}
    assert all(one.endswith(".html") for one in written)


def test_a_session_with_parts_missing_is_read_as_far_as_it_goes(made):
    throw = {"surface": "flap", "mode": "normal", "command": "up", "judgements": [judged()]}
    without = {name: value for name, value in judged().items() if name != "measured"}
    visit = made(
        ("throw", throw),
        ("throw", {**throw, "judgements": [without]}),
        ("throw", {**throw, "judgements": [{**judged(), "target": "five"}]}),
        ("loaded", {"name": "calibration", "key": "a-1", "payload": {"format": 1, "kind": "calibration"}}),
        ("loaded", {"name": "datum", "key": "bench", "payload": None}),
        ("of next year", {"anything": [1]}),
        ("key", {"key": "confirm", "after_s": 1.0}),
    )
    assert [row.key for row in visit.rows] == [("flap", "up · normal", "left")]
    assert [text for text in visit.cautions if text.startswith("left out of this report")] == [
        "left out of this report: 2 events 'throw' with parts missing or not as expected",
        "left out of this report: 1 events 'loaded' with parts missing or not as expected",
        "left out of this report: 1 events of a kind that this hingeline does not know, 'of next year'",
    ]
    page = Page(report_page(visit))
    assert all(text in page.text for text in visit.cautions)


@pytest.mark.parametrize("number", ["1e999", "-1e999"])
def test_what_is_no_number_is_left_out(made, tmp_path, number):
    throw = {"surface": "flap", "mode": "normal", "command": "up", "judgements": [judged()]}
    made(("throw", throw), ("throw", {**throw, "judgements": [judged(deg=6.0)]}))
    (path,) = (tmp_path / "home").rglob("*.log")
    path.write_text(path.read_text().replace(json.dumps(6.0), number, 1))
    visit = read_session(Session((read_run(path),)))
    assert [row.as_left.measured.deg for row in visit.rows] == [5.0]
    assert any("parts missing" in text for text in visit.cautions)
