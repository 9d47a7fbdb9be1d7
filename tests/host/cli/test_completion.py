"""The Tab key, as a shell presses it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete
from click.testing import CliRunner
from tests.host.person import kept_visits

from hingeline.cli import cli
from hingeline.cli.commands.completion import SHELLS
from hingeline.demo.job import SHEET

VISITS = kept_visits()


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder with two sheets, one of them to be mended, and a store with visits."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HINGELINE_HOME", str(VISITS))
    (tmp_path / "lantern.rig.toml").write_bytes(SHEET.read_bytes())
    (tmp_path / "moth.rig.toml").write_text("[surface.rudder]\nchord = 3\n[surface.aileron]\n")
    (tmp_path / "notes.txt").touch()
    (tmp_path / "torn.toml").write_text("[surface")
    return tmp_path


def offered(*words: str) -> list[str]:
    """Return what is offered for the last of the words."""
    *before, incomplete = words
    shell = ShellComplete(cli, {}, "hingeline", "_HINGELINE_COMPLETE")
    return [one.value for one in shell.get_completions(before, incomplete)]


@pytest.mark.usefixtures("bench")
@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("thr",), ["throws"]),
        (("calibration", "ex"), ["export"]),
        (("throws", "--pag"), ["--page", "--page-on", "--page-capture"]),
        (("rig", "new", "x", "--template", "v"), ["v-tail"]),
        (("throws", ""), ["lantern.rig.toml", "moth.rig.toml"]),
        (("rig", "check", "m"), ["moth.rig.toml"]),
        (("throws", "lantern.rig.toml", ""), ["elevator", "flap"]),
        (("throws", "--quiet", "lantern.rig.toml", "e"), ["elevator"]),
        (("play", "moth.rig.toml", ""), ["aileron", "rudder"]),
        (("play", "torn.toml", ""), []),
        (("play", "missing.rig.toml", ""), []),
        (("sessions", "M"), ["Moss-Lantern"]),
        (("compare", "Moss-Lantern@"), ["Moss-Lantern@2025-09-14", "Moss-Lantern@2026-05-17"]),
    ],
)
def test_what_is_offered(words, expected):
    assert offered(*words) == expected


@pytest.mark.usefixtures("bench")
def test_where_there_is_no_sheet_the_shell_looks_for_files():
    shell = ShellComplete(cli, {}, "hingeline", "_HINGELINE_COMPLETE")
    assert [one.type for one in shell.get_completions(["throws"], "no")] == ["file"]


def test_sensors_are_offered(calibrated_home, monkeypatch):
    monkeypatch.setenv("HINGELINE_HOME", str(calibrated_home))
    sensors = offered("calibration", "show", "")
    assert len(sensors) == 2
    assert offered("throws", "x.rig.toml", "--left", sensors[0]) == sensors[:1]


def test_what_is_offered_names_the_visit(monkeypatch):
    """A name as it is offered is one that the command finds."""
    told = CliRunner(env={"HINGELINE_HOME": str(VISITS)}).invoke(cli, ["sessions", "Moss-Lantern"])
    assert "Moss Lantern" in told.stdout


@pytest.mark.parametrize("shell", SHELLS)
def test_each_shell_gets_its_script(shell):
    told = CliRunner().invoke(cli, ["completion", shell], standalone_mode=False)
    assert f"_HINGELINE_COMPLETE={shell}_complete" in told.stdout.replace(' = "', "=")


@pytest.mark.parametrize(
    ("words", "incomplete", "offers"),
    [
        (("throws", "lantern.rig.toml", "fl"), "fl", ["flap"]),
        (("throws", "lantern.rig.toml"), "", ["elevator", "flap"]),
        (("throws", "no"), "no", []),  # nothing: PowerShell offers files then
    ],
)
def test_powershell_asks_in_lines(bench, words, incomplete, offers):
    """Backslashes and spaces of Windows stay; no PowerShell is at hand, so what its script sets is set here."""
    asked = {"COMP_WORDS": "\n".join(("hingeline", *words)), "COMP_WORD": incomplete}
    done = subprocess.run(
        [Path(sys.executable).parent / "hingeline"],
        cwd=bench,
        env={**os.environ, **asked, "_HINGELINE_COMPLETE": "powershell_complete"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert [line.split("\t")[0] for line in done.stdout.splitlines() if line] == offers


def test_bash_completes(bench):
    """Bash itself runs the script that is printed, and the program that is installed."""
    script = """
        eval "$(hingeline completion bash)"
        COMP_WORDS=(hingeline throws lantern.rig.toml fl); COMP_CWORD=3
        _hingeline_completion hingeline
        printf '%s\\n' "${COMPREPLY[@]}"
    """
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    command = ["bash", "--norc", "-c", script]
    done = subprocess.run(
        command, cwd=bench, env={**os.environ, "PATH": path}, capture_output=True, text=True, check=True
    )
    assert (done.stdout, done.stderr) == ("flap\n", "")
