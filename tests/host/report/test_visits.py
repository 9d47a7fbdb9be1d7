"""Sessions found by aircraft, date and folder."""

import json
import shutil

import pytest
from tests.host.report.conftest import DATA, run

from hingeline.errors import DamagedFile, NotStored, UsageProblem
from hingeline.report.results import results
from hingeline.report.visits import find, session
from hingeline.storage.recording import FILE

FOLDERS = DATA / "sessions" / "Moss-Lantern"


def names(name):
    return [one.folder.name for one in find(DATA, name)]


@pytest.mark.parametrize(
    ("name", "first", "count"),
    [
        ("Moss Lantern", "2026-05-17_10-02-18", 7),
        ("moss lantern", "2026-05-17_10-02-18", 7),
        ("Moss-Lantern", "2026-05-17_10-02-18", 7),
        ("Moss Lantern@2026", "2026-05-17_10-02-18", 7),
        ("Moss Lantern@2025", "2025-09-14_16-02-18", 3),
        ("Moss Lantern@2025-09-14", "2025-09-14_16-02-18", 3),
        ("Moss Lantern@2026-05-17_10-1", "2026-05-17_10-12-24", 2),
        (str(FOLDERS / "2026-05-17_10-22-34"), "2026-05-17_10-22-34", 1),
    ],
)
def test_a_visit_is_found(name, first, count):
    found = names(name)
    assert len(found) == count
    assert first in found


def test_sessions_of_a_visit_are_in_their_order():
    assert names("Moss Lantern") == sorted(names("Moss Lantern"))


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("Moss Lantern@2024", "of Moss Lantern there are 2025-09-14, 2026-05-17"),
        ("Fern Kestrel", "there are sessions of Moss Lantern"),
        (str(DATA / "nowhere"), "there are sessions of Moss Lantern"),
    ],
)
def test_what_is_not_there_is_told_with_what_is(name, told):
    with pytest.raises(NotStored, match=told) as problem:
        find(DATA, name)
    assert "hingeline sessions" in problem.value.cure


def test_an_empty_store(tmp_path):
    with pytest.raises(NotStored, match="there are none"):
        find(tmp_path, "Moss Lantern")


def test_a_session_without_its_beginning_is_damaged(tmp_path):
    lines = (FOLDERS / "2026-05-17_10-22-34" / FILE).read_bytes().splitlines(keepends=True)
    (tmp_path / FILE).write_bytes(b"".join(lines[1:]))
    with pytest.raises(DamagedFile, match="does not begin"):
        session(tmp_path)


def test_sessions_lists_by_aircraft_and_date():
    outcome = run("sessions")
    rows = outcome.stdout.splitlines()
    assert outcome.status == 0
    assert rows[0] == "Moss Lantern"
    assert rows[1:] == sorted(rows[1:])
    assert "  2026-05-17_10-22-34  sweep elevator" in rows
    listed = json.loads(run("sessions", "moss lantern", "--json").stdout)["sessions"]
    assert [one["command"] for one in listed[:3]] == ["neutral", "throws", "play"]


def test_sessions_of_an_aircraft_that_has_none_are_told_with_those_there_are(tmp_path):
    assert json.loads(run("sessions", "Fern Kestrel", "--json").stdout)["sessions"] == []
    assert (
        run("sessions", "Fern Kestrel").stdout
        == "No session of Fern Kestrel: there are sessions of Moss Lantern.\n"
    )
    assert run("sessions", "Fern Kestrel", home=tmp_path).stdout == (
        "No session of Fern Kestrel: there are none.\n"
    )
    assert run("sessions", home=tmp_path).stdout == "No session yet.\n"


def test_a_damaged_session_is_told_and_the_others_listed(tmp_path):
    shutil.copytree(DATA, tmp_path, dirs_exist_ok=True)
    spoilt = tmp_path / "sessions" / "Moss-Lantern" / "2026-05-17_10-22-34" / FILE
    spoilt.write_bytes(b"no record\n" + spoilt.read_bytes())
    outcome = run("sessions", home=tmp_path)
    assert outcome.status == 0
    assert "2026-05-17_10-22-34/session.log, line 1 is no record" in outcome.stderr
    assert len(outcome.stdout.splitlines()) == 10


def test_a_session_that_a_kill_cut_off_is_reported(tmp_path):
    folder = tmp_path / "cut"
    shutil.copytree(FOLDERS / "2026-05-17_10-12-24", folder)
    content = (folder / FILE).read_bytes()
    (folder / FILE).write_bytes(content[: content.rindex(b"\nE ") + 40])
    visit = results((session(folder),))
    assert [row.position for row in visit.rows][-1] == "down · normal"


def test_a_folder_that_is_no_session():
    outcome = run("report", str(FOLDERS))
    assert outcome.status == 2
    assert "there are sessions of Moss Lantern" in outcome.stderr


def test_a_visit_without_a_reading_is_refused(made):
    with pytest.raises(UsageProblem, match="holds no reading: throws"):
        made()


def recorded_anew(home, name, **fields):
    """Put one of the sessions into a store once more, as if recorded at another time."""
    source = (FOLDERS / "2026-05-17_10-03-20" / FILE).read_bytes()
    first, rest = source.split(b"\n", 1)
    head, event = first.split(b" {", 1)
    told = {**json.loads(b"{" + event), **fields}
    path = home / "sessions" / "Moss-Lantern" / name / FILE
    path.parent.mkdir(parents=True)
    path.write_bytes(head + b" " + json.dumps(told).encode() + b"\n" + rest)
    return path


def test_a_command_that_measured_nothing_is_no_part_of_a_visit_and_no_visit(tmp_path):
    """Its session stays and is listed."""
    shutil.copytree(DATA, tmp_path, dirs_exist_ok=True)
    source = FOLDERS / "2026-05-17_10-22-34" / FILE
    failed = b"".join(source.read_bytes().splitlines(keepends=True)[:1])
    for name in ("2026-05-17_11-00-00", "2026-06-01_09-00-00"):
        path = tmp_path / "sessions" / "Moss-Lantern" / name / FILE
        path.parent.mkdir()
        path.write_bytes(failed.replace(b'"sweep"', b'"droop"'))
    visit = results(find(tmp_path, "Moss Lantern"))
    assert visit.day == "2026-05-17"
    assert len(visit.sessions) == 7
    assert "droop" not in {one.session.command for one in visit.sessions}
    listed = run("sessions", home=tmp_path).stdout.splitlines()
    assert [row for row in listed if row.endswith(", no reading")] == [
        "  2026-05-17_11-00-00  droop elevator, no reading",
        "  2026-06-01_09-00-00  droop elevator, no reading",
    ]
    told = json.loads(run("sessions", "--json", home=tmp_path).stdout)["sessions"]
    assert [one["folder"][-19:] for one in told if not one["measured"]] == [row[2:21] for row in listed[-2:]]


def test_a_session_killed_before_its_first_record_is_none(tmp_path):
    shutil.copytree(DATA, tmp_path, dirs_exist_ok=True)
    for name, content in (("2026-06-01_09-00-00", b""), ("2026-06-01_09-00-01", b"E 41 {")):
        path = tmp_path / "sessions" / "Moss-Lantern" / name / FILE
        path.parent.mkdir()
        path.write_bytes(content)
    assert run("sessions", home=tmp_path) == run("sessions")
    assert find(tmp_path, "Moss Lantern")[0].day == "2026-05-17"


def test_a_clock_set_back_changes_no_order_and_is_told(tmp_path):
    """The later session bears the earlier date; what was left is what was measured last."""
    recorded_anew(tmp_path, "2026-05-17_12-00-00", number=1, started="2026-05-17T10:00:00+00:00")
    recorded_anew(tmp_path, "2026-05-17_11-00-00", number=2, started="2026-05-17T09:00:00+00:00")
    found = find(tmp_path, "Moss Lantern")
    assert [one.number for one in found] == [1, 2]
    assert "the computer's clock was set back" in " ".join(results(found).cautions)
    listed = json.loads(run("sessions", "--json", home=tmp_path).stdout)["sessions"]
    assert [one["started"][11:13] for one in listed] == ["10", "09"]


def test_a_clock_set_back_by_a_year_leaves_the_last_visit_the_last(tmp_path):
    recorded_anew(tmp_path, "2027-05-17_12-00-00", number=1, started="2027-05-17T10:00:00+00:00")
    recorded_anew(tmp_path, "2026-05-17_12-00-00", number=2, started="2026-05-17T10:00:00+00:00")
    assert [one.day for one in find(tmp_path, "Moss Lantern")] == ["2026-05-17"]


def test_a_session_that_is_left_out_of_a_report_is_told(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copytree(DATA, tmp_path, dirs_exist_ok=True)
    spoilt = tmp_path / "sessions" / "Moss-Lantern" / "2026-05-17_10-22-34" / FILE
    spoilt.write_bytes(b"no record\n" + spoilt.read_bytes())
    outcome = run("report", "Moss Lantern", home=tmp_path)
    assert outcome.status == 0
    assert "Left out: " in outcome.stderr
    assert "2026-05-17_10-22-34/session.log, line 1 is no record" in outcome.stderr
