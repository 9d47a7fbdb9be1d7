"""How far the job is, and the next step, from an empty store to the report that is kept."""

import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.host.person import at_the_desk

from hingeline.checks.positions import Measure, asked
from hingeline.cli import cli
from hingeline.cli.progress import gather_progress
from hingeline.demo.job import SHEET
from hingeline.device.link import ports
from hingeline.errors import CopiesDiffer, NoBoard, PortBusy, WrongFirmware
from hingeline.procedures.progress import Progress, SessionProgress, next_step
from hingeline.rig import load_sheet
from hingeline.storage.sessions import begin_run
from hingeline.storage.store import Store, now_text

TERMINAL_ROWS = 12
NOTHING = Progress(now_text())
FLAP = (("neutral", "", "neutral"), ("throw", "normal", "up"), ("throw", "normal", "down"))


@pytest.mark.parametrize(
    ("trouble", "command"),
    [
        (WrongFirmware("It says 'MicroPython'", "Press its reset button"), "hingeline install"),
        (PortBusy("held by another program", "Close that program"), "hingeline doctor"),
        (NoBoard("opens, but nothing answers", "Press its reset button"), "hingeline doctor"),
        (CopiesDiffer("two copies", "Choose one of them"), "hingeline calibration list"),
    ],
)
def test_what_keeps_a_board_from_working_comes_first(trouble, command):
    step = next_step(Progress(now_text(), trouble=trouble))
    assert step == (command, f"{trouble.cure}.")


def test_without_a_board():
    now = now_text()
    session = SessionProgress("Moss Lantern", now[:10], now, ("throws",))
    known = Progress(now, calibrated={"e6-0": now})
    over = Progress(now, calibrated={"e6-0": now}, session=session)
    assert next_step(NOTHING).command == "hingeline demo"
    assert next_step(known).command == "hingeline boards"
    assert next_step(over).command == "hingeline report 'Moss Lantern'"


def test_what_a_sheet_asks_for():
    """As the sheet has it: two surfaces, left and right, with throws each."""
    assert list(asked(load_sheet(SHEET))) == [
        Measure("neutral", "flap"),
        Measure("throws", "flap"),
        Measure("neutral", "elevator"),
        Measure("throws", "elevator"),
    ]


def record(
    home: Path, *readings: tuple[str, str, str], surface: str, inside: bool = True, taken_back: bool = False
) -> None:
    """Record a session with these readings of a surface, as the commands do."""
    judgement = {
        "name": "left",
        "measured": {"deg": 5.0, "standard_uncertainty_deg": 0.05, "interval_95_deg": [4.9, 5.1]},
        "unit": "deg",
        "target": 5.0,
        "tolerance": 0.5,
        "gap": 0.0,
        "verdict": "MATCHED",
        "inside": inside,
    }
    aircraft = "Moss Lantern"
    with begin_run(home, aircraft, "throws", choices={"surface": surface}) as recorder:
        for kind, mode, command in readings:
            recorder.event(kind, surface=surface, mode=mode, command=command, judgements=[judgement])
        if taken_back:
            recorder.event("key", key="back", after_s=0.0)


def test_from_the_plug_to_the_sheet_that_is_kept(person, tmp_path, monkeypatch):
    """On real firmware, step by step; what a step would have kept or taken away is put there by hand."""
    store, folder, now = Store(person.home), tmp_path / "bench", now_text()
    folder.mkdir()
    monkeypatch.chdir(folder)
    monkeypatch.setattr(ports.list_ports, "comports", list)
    plugged = tuple(person.bench.ports.values())
    tomorrow = (datetime.fromisoformat(now) + timedelta(hours=20)).isoformat()

    def command(when: str = now) -> str:
        return next_step(gather_progress(plugged, folder, store, when, print)).command.removeprefix("hingeline ")

    def cli_says(*options: str) -> str:
        words = ["here", *(word for port in plugged for word in ("--port", port)), *options]
        return CliRunner(env={"HINGELINE_HOME": str(person.home)}).invoke(cli, words).stdout

    assert command() == "rig new lantern.rig.toml"
    sheet = folder / "lantern.rig.toml"
    sheet.write_text("schema_version = 1\n")
    assert command() == "rig check lantern.rig.toml"
    shutil.copy(SHEET, sheet)
    assert command() == "neutral lantern.rig.toml flap"
    record(person.home, *FLAP[:1], surface="flap")
    assert command() == "throws lantern.rig.toml flap"
    record(person.home, *FLAP[1:], surface="flap", inside=False)
    assert command() == "throws lantern.rig.toml flap"
    told = cli_says()
    assert "out of tolerance: throws flap; not measured yet: neutral elevator, throws elevator" in told
    assert "The flap was out of the tolerance: correct it as advised, then measure it again." in told
    pulled = gather_progress((), folder, store, now, print)
    assert next_step(pulled).reason == "Your session is not over: plug the sensors in, then go on."
    record(person.home, *FLAP[1:], surface="flap", taken_back=True)
    assert command() == "throws lantern.rig.toml flap"
    record(person.home, *FLAP[1:], surface="flap")
    assert command() == "neutral lantern.rig.toml elevator"
    told = cli_says()
    assert f'Boards   pico "bench" at {plugged[0]}' in told
    assert "not measured yet: neutral elevator, throws elevator" in told
    assert "out of tolerance" not in told
    assert len(told.splitlines()) <= TERMINAL_ROWS
    assert f'"next": "hingeline neutral lantern.rig.toml elevator --port {plugged[0]}"' in cli_says("--json")
    record(person.home, *FLAP, surface="elevator")
    assert command() == "drift-check"
    datum = store.load("datum", "bench")
    store.save("datum", "bench", {**datum, "misclosure_deg": dict.fromkeys(datum["gravity"], 0.01)})
    assert f"Datum    of {now[:10]}, drift checked\n" in cli_says()
    assert command() == "report 'Moss Lantern'"
    assert cli_says().endswith("\n  hingeline report 'Moss Lantern'\n")
    store.save("datum", "bench", {**datum, "misclosure_deg": dict.fromkeys(datum["gravity"], -3.769)})
    assert f"Datum    of {now[:10]}, does not hold\n" in cli_says()
    assert command() == "datum"
    assert command(tomorrow) == "setup lantern.rig.toml"
    shutil.rmtree(person.home / "settings")
    assert command() == "wiggle"
    shutil.rmtree(person.home / "calibration")
    assert command() == "calibrate"


@pytest.mark.long
def test_a_command_that_took_no_reading_is_no_session(person, sheet, tmp_path, monkeypatch):
    """It is listed as such; after a session it is no part of it."""
    folder = tmp_path / "bench"
    folder.mkdir()
    monkeypatch.chdir(folder)
    shutil.copy(sheet, folder / "lantern.rig.toml")
    shutil.move(person.home / "datum", tmp_path / "datum")

    def listed() -> list[str]:
        """The runs: they are all of one session."""
        aircraft, session, *runs = at_the_desk(person.home, "sessions", "Moss Lantern").stdout.splitlines()
        assert (aircraft, session[:3]) == ("Moss Lantern", "  2")
        return [row.strip() for row in runs]

    assert person.run("neutral", "lantern.rig.toml", "flap").status == 2
    assert listed() == ["neutral flap, no reading"]
    assert person.run("here", "--json").data["session"] == "none recorded"
    shutil.copytree(tmp_path / "datum", person.home / "datum")
    person.tape("flap")
    assert person.run("neutral", "lantern.rig.toml", "flap").status == 6
    shutil.rmtree(person.home / "datum")
    assert person.run("neutral", "lantern.rig.toml", "flap").status == 2
    assert listed() == ["neutral flap, no reading", "neutral flap", "neutral flap, no reading"]
    shutil.move(tmp_path / "datum", person.home / "datum")

    def measured() -> str:
        return person.run("here", "--json").data["session"]

    assert measured().startswith(f"Moss Lantern on {now_text()[:10]}: neutral; out of tolerance: neutral flap; ")
    person.bench.do("place", sensor="all", face="+z")
    assert person.take_datum().status == 0
    assert "; not measured yet: neutral flap, throws flap, " in measured(), "it counted from the former datum"


def test_what_was_taken_back_is_no_session_and_what_a_check_found_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(ports.list_ports, "comports", list)
    shutil.copy(SHEET, tmp_path / "lantern.rig.toml")
    store = Store(tmp_path / "home")

    def session():
        return gather_progress((), tmp_path, store, now_text(), print).session

    record(store.root, *FLAP[:1], surface="flap", taken_back=True)
    assert session() is None
    finding = {
        "name": "left, play",
        "value": 0.9,
        "unit": "deg",
        "standard_uncertainty": 0.02,
        "interval_95": [0.86, 0.94],
        "limit": 0.5,
    }
    for inside in (True, False):
        with begin_run(store.root, "Moss Lantern", "play", choices={}) as recorder:
            result = {**finding, "inside": inside}
            recorder.event("play", surface="flap", check="play", results=[result], inside=inside)
        assert session().out == (() if inside else (Measure("play", "flap"),))
    told = CliRunner(env={"HINGELINE_HOME": str(store.root)})
    monkeypatch.chdir(tmp_path)
    assert "out of tolerance: play flap; not measured yet: " in told.invoke(cli, ["here"]).stdout


def test_a_port_that_was_named_is_named_in_the_next_step(tmp_path, monkeypatch):
    """Where no board answers at it, and where what answers needs the firmware."""
    monkeypatch.chdir(tmp_path)
    for trouble, command in ((NoBoard("a", "b"), "doctor"), (WrongFirmware("a", "b"), "install")):
        plugged = {"trouble": trouble}
        monkeypatch.setattr("hingeline.cli.progress._plugged", lambda *_, fields=plugged: fields)
        told = CliRunner(env={"HINGELINE_HOME": str(tmp_path)}).invoke(cli, ["here", "--port", "COM7"]).stdout
        assert told.endswith(f"\n  hingeline {command} --port COM7\n")


def test_alone_it_tells_the_same(tmp_path, monkeypatch):
    monkeypatch.setattr(ports.list_ports, "comports", list)
    monkeypatch.chdir(tmp_path)
    told = CliRunner(env={"HINGELINE_HOME": str(tmp_path)}).invoke(
        cli, [], standalone_mode=False, catch_exceptions=False
    )
    assert told.return_value == 0
    assert len(told.stdout.splitlines()) <= TERMINAL_ROWS
    assert told.stdout.endswith("\n  hingeline demo\n")
