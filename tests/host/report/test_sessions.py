"""Sessions found by aircraft, date and folder; old folders of one command are gathered to sessions."""

import json
import shutil

import pytest
from tests.host.report.conftest import DATA, run

from hingeline.errors import DamagedFile, NotStored, UsageProblem
from hingeline.report.results import read_session
from hingeline.storage.sessions import OLD_FILE, Session, find, read_run

FOLDERS = DATA / "sessions" / "Moss-Lantern"


def names(name):
    return [each.folder.name for each in find(DATA, name).runs]


@pytest.mark.parametrize(
    ("name", "first", "count"),
    [
        ("Moss Lantern", "2026-05-17_10-02-18", 7),
        ("moss lantern", "2026-05-17_10-02-18", 7),
        ("Moss-Lantern", "2026-05-17_10-02-18", 7),
        ("Moss Lantern@2026", "2026-05-17_10-02-18", 7),
        ("Moss Lantern@2025", "2025-09-14_16-02-18", 3),
        ("Moss Lantern@2025-09-14", "2025-09-14_16-02-18", 3),
        ("Moss Lantern@2026-05-17_10-1", "2026-05-17_10-02-18", 7),
        (str(FOLDERS / "2026-05-17_10-22-34"), "2026-05-17_10-22-34", 1),
        (str(FOLDERS / "2026-05-17_10-22-34" / OLD_FILE), "2026-05-17_10-22-34", 1),
    ],
    ids=lambda value: str(value).rpartition("/")[2],
)
def test_a_session_is_found(name, first, count):
    assert len(names(name)) == count
    assert names(name)[0] == first


def test_runs_of_a_session_are_in_their_order():
    assert names("Moss Lantern") == sorted(names("Moss Lantern"))


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("Moss Lantern@2024", "of Moss Lantern there are 2025-09-14, 2026-05-17"),
        ("Fern Kestrel", "there are sessions of Moss Lantern"),
        pytest.param(str(DATA / "nowhere"), "there are sessions of Moss Lantern", id="nowhere"),
    ],
)
def test_what_is_not_there_is_told_with_what_is(name, words):
    with pytest.raises(NotStored, match=words) as problem:
        find(DATA, name)
    assert "hingeline sessions" in problem.value.cure


def test_an_empty_store(tmp_path):
    with pytest.raises(NotStored, match="there are none") as problem:
        find(tmp_path, "Moss Lantern")
    assert "Measure first" in problem.value.cure


def test_a_run_without_its_beginning_is_damaged(tmp_path):
    lines = (FOLDERS / "2026-05-17_10-22-34" / OLD_FILE).read_bytes().splitlines(keepends=True)
    (tmp_path / OLD_FILE).write_bytes(b"".join(lines[1:]))
    with pytest.raises(DamagedFile, match="does not begin"):
        read_run(tmp_path / OLD_FILE)


def test_sessions_are_listed_by_aircraft_and_date_with_their_runs():
    outcome = run("sessions")
    rows = outcome.stdout.splitlines()
    assert outcome.status == 0
    assert rows[:3] == ["Moss Lantern", "  2025-09-14_16-02-18", "    neutral flap"]
    assert [row for row in rows if row.startswith("  2")] == [
        "  2025-09-14_16-02-18",
        "  2026-05-17_10-02-18",
    ]
    assert "    sweep elevator" in rows
    first, _ = json.loads(run("sessions", "moss lantern", "--json").stdout)["sessions"]
    assert [each["command"] for each in first["runs"]] == ["neutral", "throws", "play"]


def test_sessions_of_an_aircraft_that_has_none_are_told_with_those_there_are(tmp_path):
    """As `report` and `compare` end: a script that asks for an aircraft by a wrong name must not go on."""
    problem = "There is no session of Fern Kestrel: "
    known, unknown = run("sessions", "Fern Kestrel"), run("sessions", "Fern Kestrel", "--json", home=tmp_path)
    assert (known.status, known.stdout) == (2, "")
    assert f"{problem}there are sessions of Moss Lantern. Name" in known.stderr
    assert (unknown.status, json.loads(unknown.stdout)["error"]) == (2, f"{problem}there are none")
    nothing_to_name = run("sessions", "Fern Kestrel", home=tmp_path).stderr
    assert nothing_to_name.endswith("there are none. Measure first; `hingeline` alone names the next step.\n")
    assert run("sessions", home=tmp_path).stdout == "No session yet.\n"


def test_a_damaged_run_is_told_and_the_others_listed(tmp_path):
    shutil.copytree(DATA, tmp_path, dirs_exist_ok=True)
    spoilt = tmp_path / "sessions" / "Moss-Lantern" / "2026-05-17_10-22-34" / OLD_FILE
    spoilt.write_bytes(b"no record\n" + spoilt.read_bytes())
    outcome = run("sessions", home=tmp_path)
    assert outcome.status == 0
    assert "2026-05-17_10-22-34/session.log, line 1 is no record" in outcome.stderr
    assert len(outcome.stdout.splitlines()) == 1 + 2 + 9


def test_a_run_that_a_kill_cut_off_is_reported(tmp_path):
    folder = tmp_path / "cut"
    shutil.copytree(FOLDERS / "2026-05-17_10-12-24", folder)
    content = (folder / OLD_FILE).read_bytes()
    (folder / OLD_FILE).write_bytes(content[: content.rindex(b"\nE ") + 40])
    session = read_session(Session((read_run(folder / OLD_FILE),)))
    assert [row.position for row in session.rows][-1] == "down · normal"


def test_a_folder_that_is_no_session():
    outcome = run("report", str(FOLDERS))
    assert outcome.status == 2
    assert "there are sessions of Moss Lantern" in outcome.stderr


def test_a_session_without_a_reading_is_refused(made):
    with pytest.raises(UsageProblem, match="holds no reading: throws"):
        made()


def recorded_anew(home, name, *, whole=True, **fields):
    """Put one of the runs into a store once more, as if recorded at another time; else its first event alone."""
    source = (FOLDERS / "2026-05-17_10-03-20" / OLD_FILE).read_bytes()
    first, rest = source.split(b"\n", 1)
    head, event = first.split(b" {", 1)
    changed = {**json.loads(b"{" + event), **fields}
    path = home / "sessions" / "Moss-Lantern" / name / OLD_FILE
    path.parent.mkdir(parents=True)
    path.write_bytes(head + b" " + json.dumps(changed).encode() + b"\n" + (rest if whole else b""))
    return path


def test_a_command_that_measured_nothing_is_no_part_of_a_session_and_no_session(tmp_path):
    """Its run stays and is listed."""
    shutil.copytree(DATA, tmp_path, dirs_exist_ok=True)
    for name, started in (
        ("2026-05-17_11-00-00", "2026-05-17T09:00:00"),
        ("2026-06-01_09-00-00", "2026-06-01T07:00:00"),
    ):
        recorded_anew(tmp_path, name, whole=False, command="droop", started=f"{started}+00:00")
    session = read_session(find(tmp_path, "Moss Lantern"))
    assert session.day == "2026-05-17"
    assert len(session.runs) == 7
    assert "droop" not in {each.run.command for each in session.runs}
    listed = run("sessions", home=tmp_path).stdout.splitlines()
    assert [row for row in listed if row.endswith(", no reading")] == 2 * ["    droop flap, no reading"]
    *_, last, alone = json.loads(run("sessions", "--json", home=tmp_path).stdout)["sessions"]
    assert [each["measured"] for each in last["runs"]] == 7 * [True] + [False]
    assert [each["measured"] for each in alone["runs"]] == [False]


def test_a_run_killed_before_its_first_record_is_none(tmp_path):
    shutil.copytree(DATA, tmp_path, dirs_exist_ok=True)
    for name, content in (("2026-06-01_09-00-00", b""), ("2026-06-01_09-00-01", b"E 41 {")):
        path = tmp_path / "sessions" / "Moss-Lantern" / name / OLD_FILE
        path.parent.mkdir()
        path.write_bytes(content)
    assert run("sessions", home=tmp_path) == run("sessions")
    assert find(tmp_path, "Moss Lantern").day == "2026-05-17"


def test_the_last_session_is_the_same_for_every_command_whatever_the_clock_was_set_to(tmp_path):
    """The session that was recorded last bears the earlier date."""
    recorded_anew(tmp_path, "2026-05-19_12-00-00", number=1, started="2026-05-19T10:00:00+00:00")
    recorded_anew(tmp_path, "2026-05-18_11-00-00", number=2, started="2026-05-18T09:00:00+00:00")
    assert find(tmp_path, "Moss Lantern").day == "2026-05-18"
    assert json.loads(run("here", "--json", home=tmp_path).stdout)["session"].startswith("Moss Lantern on 2026-05-18: ")


def test_a_clock_set_back_changes_no_order_and_is_told(tmp_path):
    """The later run bears the earlier date; what was left is what was measured last."""
    recorded_anew(tmp_path, "2026-05-17_12-00-00", number=1, started="2026-05-17T10:00:00+00:00")
    recorded_anew(tmp_path, "2026-05-17_11-00-00", number=2, started="2026-05-17T09:00:00+00:00")
    session = find(tmp_path, "Moss Lantern")
    assert [each.number for each in session.runs] == [1, 2]
    assert "the computer's clock was set back" in " ".join(read_session(session).cautions)
    (listed,) = json.loads(run("sessions", "--json", home=tmp_path).stdout)["sessions"]
    assert [each["started"][11:13] for each in listed["runs"]] == ["10", "09"]


def test_a_clock_set_back_by_a_year_leaves_the_last_session_the_last(tmp_path):
    recorded_anew(tmp_path, "2027-05-17_12-00-00", number=1, started="2027-05-17T10:00:00+00:00")
    recorded_anew(tmp_path, "2026-05-17_12-00-00", number=2, started="2026-05-17T10:00:00+00:00")
    assert find(tmp_path, "Moss Lantern").day == "2026-05-17"


def test_midnight_splits_no_session_of_old_folders(tmp_path):
    recorded_anew(tmp_path, "2026-05-17_23-50-00", number=1, started="2026-05-17T21:50:00+00:00")
    recorded_anew(tmp_path, "2026-05-18_00-10-00", number=2, started="2026-05-17T22:10:00+00:00")
    recorded_anew(tmp_path, "2026-05-18_12-30-00", number=3, started="2026-05-18T10:30:00+00:00")
    assert [each.number for each in find(tmp_path, "Moss Lantern@2026-05-17").runs] == [1, 2]
    assert [each.number for each in find(tmp_path, "Moss Lantern").runs] == [3], "over twelve hours later"


def test_a_run_that_is_left_out_of_a_report_is_told(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copytree(DATA, tmp_path, dirs_exist_ok=True)
    spoilt = tmp_path / "sessions" / "Moss-Lantern" / "2026-05-17_10-22-34" / OLD_FILE
    spoilt.write_bytes(b"no record\n" + spoilt.read_bytes())
    outcome = run("report", "Moss Lantern", home=tmp_path)
    assert outcome.status == 0
    assert "Left out: " in outcome.stderr
    assert "2026-05-17_10-22-34/session.log, line 1 is no record" in outcome.stderr
