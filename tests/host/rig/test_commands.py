"""`hingeline rig` as a user and as a program sees it."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from hingeline.cli import cli
from hingeline.rig.templates import TEMPLATES, template_text


@pytest.fixture
def hingeline(capsys):
    """Run a command; returns exit status, data and talk."""

    def run(*arguments: object) -> tuple[int, str, str]:
        status = cli.main([str(argument) for argument in arguments], standalone_mode=False)
        captured = capsys.readouterr()
        return status or 0, captured.out, captured.err

    return run


@pytest.mark.parametrize("template", TEMPLATES)
def test_a_template_is_written_checked_and_shown(hingeline, tmp_path, template):
    path = tmp_path / "mine.rig.toml"
    assert hingeline("rig", "new", path, "--template", template)[:2] == (0, f"{path}\n")
    status, data, _ = hingeline("rig", "check", path)
    assert (status, data.startswith(f"{path} has no mistakes: mine, ")) == (0, True)
    status, data, _ = hingeline("rig", "show", path)
    assert (status, data.split("\n")[0]) == (0, "mine")


def test_left_is_set_against_right_where_there_are_both(hingeline, tmp_path):
    path = tmp_path / "mine.rig.toml"
    hingeline("rig", "new", path, "--template", "trainer")
    lines = [line.split("  ") for line in hingeline("rig", "show", path)[1].splitlines()]
    rows = [[cell.strip() for cell in line if cell.strip()] for line in lines]
    assert ["aileron", "up", "+10.0°", "+7.0 mm", "2°", "2°"] in rows
    assert ["elevator", "up", "+11.5°", "+9.0 mm", "2°"] in rows


def test_json_tells_every_target_with_its_unit_in_the_name(hingeline, tmp_path):
    path = tmp_path / "mine.rig.toml"
    assert json.loads(hingeline("rig", "new", path, "--json")[1])["template"] == "trainer"
    checked = json.loads(hingeline("rig", "check", path, "--json")[1])
    assert (checked["schema_version"], checked["right"], checked["targets"]) == (2, True, 16)
    shown = json.loads(hingeline("rig", "show", path, "--json")[1])
    assert len(shown["targets"]) == 16
    assert shown["targets"][0] | {"deflection_deg": 10.0} == {
        "surface": "aileron",
        "side": "left",
        "mode": "low",
        "command": "up",
        "deflection_deg": 10.0,
        "travel_mm": 7.0,
        "convention": "ruler",
        "chord_mm": 40.0,
        "chord_accuracy_mm": 0.6,
        "unit": "mm",
        "tolerance_deg": 2.0,
        "tolerance_mm": None,
        "match_tolerance_deg": 2.0,
        "match_tolerance_mm": None,
    }


def test_what_there_is_to_mend_is_told_in_words_and_as_json(hingeline, tmp_path):
    path = tmp_path / "mine.rig.toml"
    path.write_text(template_text("trainer").replace("40 mm", "40").replace('"low", "h', '"lo", "h'), encoding="utf-8")
    status, data, talk = hingeline("rig", "check", path)
    assert (status, data) == (2, "")
    assert f'{path}:10: surface.aileron.chord: found "40", expected a length' in talk
    status, data, _ = hingeline("rig", "check", path, "--json")
    result = json.loads(data)
    assert (status, result["right"], [mistake["line"] for mistake in result["mistakes"]]) == (2, False, [10])
    for command in ("check", "show"):
        assert hingeline("rig", command, tmp_path / "none.rig.toml")[0] == 2


def test_set_changes_one_key_or_nothing(hingeline, tmp_path):
    path = tmp_path / "mine.rig.toml"
    path.write_text(template_text("trainer"), encoding="utf-8")
    assert hingeline("rig", "set", path, "surface.aileron.chord", "42 mm")[0] == 0
    assert path.read_text(encoding="utf-8") == template_text("trainer").replace("40 mm", "42 mm")
    assert hingeline("rig", "set", path, "surface.aileron.chord", "forty")[0] == 2
    assert path.read_text(encoding="utf-8") == template_text("trainer").replace("40 mm", "42 mm")


def test_the_process_ends_with_the_status_of_its_error(tmp_path):
    path = tmp_path / "mine.rig.toml"
    path.write_text("schema_version = 2", encoding="utf-8")
    ended = subprocess.run([sys.executable, "-m", "hingeline", "rig", "check", path], capture_output=True, check=False)
    assert (ended.returncode, ended.stdout) == (2, b"")


def test_help_loads_neither_models_nor_numbers():
    script = (
        "import sys; from hingeline.cli.commands import rig; print({'pydantic', 'numpy', 'tomlkit'} & set(sys.modules))"
    )
    assert subprocess.check_output([sys.executable, "-c", script], text=True) == "set()\n"


def test_of_edits_at_once_none_is_lost(hingeline, tmp_path):
    path = tmp_path / "mine.rig.toml"
    hingeline("rig", "new", path)
    edits = [
        subprocess.Popen(
            [sys.executable, "-m", "hingeline", "rig", "set", path, f"surface.{surface}.chord", "77 mm"],
            env={**os.environ, "HINGELINE_HOME": str(tmp_path / "home")},
            stdout=subprocess.DEVNULL,
        )
        for surface in ("aileron", "elevator", "rudder")
    ]
    assert [edit.wait() for edit in edits] == [0, 0, 0]
    assert path.read_text(encoding="utf-8").count("77 mm") == 3
