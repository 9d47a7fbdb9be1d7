"""Every reading in a table, as a spreadsheet opens it: read by Python's own reader of CSV."""

import csv
import io

import pytest
from tests.host.report.conftest import judged, run

from hingeline.report.table import readings_table


def rows(results):
    return list(csv.DictReader(io.StringIO(readings_table(results).decode("utf-8-sig"), newline="")))


def test_every_reading_is_a_row_taken_again_or_not(now):
    table = rows(now)
    assert len(table) == sum(len(reading.judgements) for reading in now.readings)
    assert {row["verdict"] for row in table} >= {"WITHIN", "MATCHED", "LESS", "MORE"}
    judgement = now.readings[0].judgements[0]
    assert float(table[0]["deflection_deg"]) == pytest.approx(judgement.measured.deg, abs=1e-4)
    assert float(table[0]["deflection_95_deg"]) == pytest.approx(judgement.measured.reach_deg, abs=1e-4)
    assert (table[0]["surface"], table[0]["position"], table[0]["side"]) == ("flap", "neutral", "left - right")


def test_no_number_stands_where_it_is_no_angle_of_the_surface(made):
    unsound = judged(verdict="NO VERDICT", inside=False, wrong=True, reason="it sits askew")
    visit = made(("throw", {"surface": "flap", "mode": "normal", "command": "up", "judgements": [unsound]}))
    (row,) = rows(visit)
    assert (row["deflection_deg"], row["deflection_95_deg"], row["gap"]) == ("", "", "")
    assert (row["verdict"], row["inside"], row["reason"]) == ("NO VERDICT", "no", "it sits askew")


@pytest.mark.parametrize("name", ["=1+1", "+x", "-x", "@x", 'a, "b"', "a;b"])
def test_no_text_is_a_formula_and_none_breaks_a_row(made, name):
    """OWASP, "CSV Injection": a cell that begins with = + - @ may be computed; RFC 4180 quotes commas and quotes."""
    visit = made(("throw", {"surface": name, "mode": "normal", "command": "up", "judgements": [judged()]}))
    (row,) = rows(visit)
    assert row["surface"].lstrip("'") == name
    assert row["surface"][0] not in "=+-@"


def test_report_writes_the_table_and_says_where(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    outcome = run("report", "Moss Lantern", "-o", "a.html", "--csv", "a.csv")
    assert outcome.status == 0
    assert outcome.stdout == "a.html\na.csv\n"
    content = (tmp_path / "a.csv").read_bytes()
    assert content.startswith(b"\xef\xbb\xbfrun,started,surface,")
    assert content.count(b"\r\n") == content.count(b"\n") == 19
