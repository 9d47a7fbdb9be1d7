"""What the recorded sheet asks for and nobody measured stands in the report; no sheet, of whatever kind, stops one."""

import json

import pytest
from hypothesis import given
from tests.host.report.conftest import judged, run
from tests.host.report.pages import Page
from tests.spoilt import FEW, spoilt_bytes

from hingeline.demo.job import SHEET
from hingeline.errors import SheetError
from hingeline.report.compare import compare
from hingeline.report.page import compare_page, report_page
from hingeline.report.results import Results, read_session
from hingeline.report.unmeasured import completeness
from hingeline.rig.toml_models import MOST_BYTES
from hingeline.storage.sessions import Session

TEXT = SHEET.read_text("utf-8")
TWO_MODES = TEXT.replace('modes = ["normal"]', 'modes = ["normal", "speed"]').replace(
    '[surface.flap]\nchord = "48 mm"', '[surface.flap]\nchord = "48 mm"\nthrows.speed = { up = "2 deg" }'
)
COMPLETE = "All that the rigging sheet asks for was measured."


def sheet(text):
    return "loaded", {"name": "sheet", "key": "Moss Lantern", "payload": {"text": text}}


def neutral(surface):
    return "neutral", {"surface": surface, "judgements": [judged()]}


def throw(surface, command, mode="normal", **changes):
    return "throw", {
        "surface": surface,
        "mode": mode,
        "command": command,
        "judgements": [judged(**changes)],
    }


FLAP = (neutral("flap"), throw("flap", "up"), throw("flap", "down"))
ELEVATOR = (neutral("elevator"), throw("elevator", "up"), throw("elevator", "down"))


def told(visit):
    """Return what a reader of the page is told, which has to be what the terminal is."""
    complete, page = completeness(visit), Page(report_page(visit))
    assert complete.text.split("`")[0] in page.text
    assert ("Not measured" in page.text) == bool(complete.unmeasured)
    for surface, words in complete.by_surface:
        assert f"{surface} {words}" in page.text
    return [complete.text, *map(": ".join, complete.by_surface)]


def test_what_was_not_measured_is_named_with_surface_position_and_modes(made):
    visit = made(sheet(TWO_MODES), throw("flap", "down"))
    assert told(visit) == [
        "6 positions that the rigging sheet asks for were not measured.",
        "flap: neutral; up (normal, speed)",
        "elevator: neutral; up (normal); down (normal)",
    ]


def test_a_single_one_is_told_as_one(made):
    assert told(made(sheet(TEXT), *FLAP, *ELEVATOR[:2])) == [
        "1 position that the rigging sheet asks for was not measured.",
        "elevator: down (normal)",
    ]


def test_what_was_measured_is_not_missing_out_of_tolerance_or_not(made):
    out = throw("elevator", "down", deg=9.0, verdict="LESS", inside=False)
    assert told(made(sheet(TEXT), *FLAP, *ELEVATOR[:2], out)) == [COMPLETE]


def test_what_was_taken_back_was_not_measured(made):
    back = ("key", {"key": "back", "after_s": 1.0})
    assert told(made(sheet(TEXT), *FLAP, *ELEVATOR, back))[1:] == ["elevator: down (normal)"]


def test_all_runs_of_a_session_count_together(record):
    runs = (record(sheet(TEXT), *FLAP), record(sheet(TEXT), *ELEVATOR))
    assert told(read_session(Session(runs))) == [COMPLETE]
    assert told(read_session(Session(runs[:1])))[1:] == ["elevator: neutral; up (normal); down (normal)"]


def test_the_last_sheet_counts_even_of_a_run_without_a_reading(record):
    before, after = record(sheet(TEXT), *FLAP, *ELEVATOR), record(sheet(TWO_MODES))
    assert told(read_session(Session((before, after))))[1:] == ["flap: up (speed)"]
    assert told(read_session(Session((after, before)))) == [COMPLETE]
    both = record(sheet(TWO_MODES), sheet(TEXT), *FLAP, *ELEVATOR)
    assert told(read_session(Session((both,)))) == [COMPLETE]


def test_a_visit_without_a_sheet_says_so_in_one_line(now):
    """Recorded before there were sheets in sessions."""
    (line,) = told(now)
    assert line == ("The rigging sheet was not recorded, so what it asks for beyond these readings is not known.")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "aircraft: missing"),
        ("a = 1 2", "the recorded sheet:1: Unexpected character"),
        (TEXT.replace("schema_version = 1", "schema_version = 9"), "Bring hingeline up to date"),
        (TEXT.replace('"48 mm"', '"\\u001b[2J"'), "surface.flap.chord: found"),
        (TEXT.replace("up", "upp"), "surface.flap.throws.normal.upp: no such key"),
    ],
)
def test_a_damaged_sheet_is_one_line(made, text, why):
    (line,) = told(made(sheet(text), *FLAP))
    assert "can't be read, so what it asks for beyond these readings is not known: the recorded sheet:" in line
    assert why in line
    assert line.isprintable()


@pytest.mark.parametrize("payload", [{}, {"text": 7}, {"text": "#" * (MOST_BYTES + 1)}, {"text": "\ud800"}])
def test_what_is_no_sheet_at_all_is_left_out(made, payload):
    visit = made(("loaded", {"name": "sheet", "key": "x", "payload": payload}), *FLAP)
    assert "left out of this report: 1 events 'loaded' with parts missing or not as expected" in visit.cautions
    assert "was not recorded" in told(visit)[0]


def test_the_longest_sheet_is_read_back(made):
    """Each letter of its comment takes six characters of JSON."""
    room = (MOST_BYTES - len(TEXT.encode()) - 2) // 2
    longest = f"{TEXT}# {'é' * room}"
    assert len(longest.encode()) in (MOST_BYTES - 1, MOST_BYTES)
    assert told(made(sheet(longest), *FLAP, *ELEVATOR)) == [COMPLETE]


@FEW
@given(spoilt_bytes(TWO_MODES.encode()))
def test_a_spoilt_sheet_is_told_whatever_it_is(now, content):
    """Of the readings of a real visit."""
    visit = Results(now.name, now.runs, content.decode(errors="replace"))
    complete = completeness(visit)
    assert complete.text.isprintable()
    assert (complete.unmeasured is None) == isinstance(visit.sheet, SheetError)
    assert all(words.isprintable() for row in complete.by_surface for words in row)


def test_names_of_a_sheet_are_no_markup(made):
    name = "<b onclick=1>&amp;"
    text = TEXT.replace("[surface.elevator", f"[surface.'{name}'").replace("sides =", "kind = 'elevator'\nsides =")
    page = Page(report_page(made(sheet(text), *FLAP)))
    assert f"{name} neutral; up (normal); down (normal)" in page.text
    assert "onclick" not in {attribute for attribute, _ in page.attributes}


def test_a_comparison_is_the_same_with_and_without_sheets(then, now):
    pages = [
        compare_page(compare(Results(then.name, then.runs, text), Results(now.name, now.runs, text)))
        for text in (None, TEXT, "a = ")
    ]
    assert pages[0] == pages[1] == pages[2]


def test_the_terminal_and_json_tell_it(record, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder = str(record(sheet(TWO_MODES), *FLAP[1:], *ELEVATOR).path)
    outcome = run("report", folder, home=tmp_path / "home")
    assert outcome.status == 0
    assert outcome.stderr.startswith(
        "2 positions that the rigging sheet asks for were not measured.\n  flap: neutral; up (speed)\n"
    )
    assert outcome.stdout.endswith(".html\n")
    assert json.loads(run("report", folder, "--json", home=tmp_path / "home").stdout)["not_measured"] == [
        {"surface": "flap", "position": "neutral", "modes": []},
        {"surface": "flap", "position": "up", "modes": ["speed"]},
    ]
    without = str(record(*FLAP).path)
    assert json.loads(run("report", without, "--json", home=tmp_path / "home").stdout)["not_measured"] is None
