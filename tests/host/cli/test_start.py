"""`--version` and `--help` stay light; every command explains itself."""

import importlib
import os
import subprocess
import sys

import click
import pytest
from click.testing import CliRunner

from hingeline.cli import cli, commands, summarize

HEAVY = ("numpy", "scipy", "pydantic", "serial", "tomlkit", "jinja2", "matplotlib", "rich", "segno")
CONTEXT = click.Context(cli)
NAMES = cli.list_commands(CONTEXT)


@pytest.mark.parametrize("arguments", [["--version"], ["--help"], *([name, "--help"] for name in NAMES)])
def test_no_numerical_stack_is_imported(arguments):
    program = (
        "import sys\nfrom hingeline.cli import main\n"
        f"sys.argv = ['hingeline', *{arguments!r}]\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code\n"
        f"print(sorted(set({HEAVY!r}) & set(sys.modules)))"
    )
    outcome = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert outcome.stdout.splitlines()[-1] == "[]"


def test_every_command_is_in_one_section_of_the_help_and_none_is_missing():
    sections = summarize(CONTEXT)
    listed = [name for summaries in sections.values() for name in summaries]
    assert sorted(listed) == NAMES
    assert all(text for summaries in sections.values() for text in summaries.values())


def test_the_help_comes_in_the_order_of_the_job_and_of_the_alphabet():
    """Whichever command was imported first."""
    importlib.import_module(f"{commands.__name__}.throws")
    sections = summarize(CONTEXT)
    assert [*sections] == ["Set up", "Measure", "Look for faults", "Keep"]
    assert all([*summaries] == sorted(summaries) for summaries in sections.values())


def test_a_new_command_is_its_module(tmp_path, monkeypatch):
    """Nothing else is touched: its file alone brings it into the help and makes it work."""
    (tmp_path / "tea_break.py").write_text(
        '"""Put the kettle on."""\n'
        "from hingeline.cli.command import command\n"
        '@command("Set up")\n'
        "def tea_break(screen):\n"
        '    screen.data("ready", cups=2)\n'
    )
    monkeypatch.setattr(commands, "__path__", [*commands.__path__, str(tmp_path)])
    monkeypatch.setattr(commands, "SECTIONS", {name: dict(made) for name, made in commands.SECTIONS.items()})
    monkeypatch.setattr("hingeline.cli.command.SECTIONS", commands.SECTIONS)
    assert summarize(CONTEXT)["Set up"]["tea-break"] == "Put the kettle on."
    assert CliRunner().invoke(cli, ["tea-break", "--json"]).stdout == '{"schema_version": 2, "cups": 2}\n'


def test_an_unknown_command_is_a_usage_error():
    outcome = subprocess.run([sys.executable, "-m", "hingeline", "trows"], capture_output=True, text=True, check=False)
    assert outcome.returncode == 2
    assert "'trows'. Try throws." in outcome.stderr


def test_the_former_name_of_the_drift_check_goes_on_working():
    outcome = subprocess.run(
        [sys.executable, "-m", "hingeline", "closure", "--help"], capture_output=True, text=True, check=True
    )
    assert "hingeline drift-check" in outcome.stdout
    assert outcome.stderr == ""


def test_the_environment_names_ports_where_the_command_does_not(tmp_path):
    """Several, divided by spaces."""
    ports = [str(tmp_path / "a"), str(tmp_path / "b")]
    environment = {**os.environ, "HINGELINE_HOME": str(tmp_path), "HINGELINE_PORT": " ".join(ports)}

    def boards(*arguments):
        command = [sys.executable, "-m", "hingeline", "boards", *arguments]
        return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)

    named = boards("--port", str(tmp_path / "c"))
    assert boards().returncode == named.returncode == 3
    assert ports[0] in boards().stderr
    assert ports[0] not in named.stderr
    assert str(tmp_path / "c") in named.stderr


def test_who_wants_no_page_and_no_speech_waits_for_neither():
    names = {"http.server", "subprocess", "miniaudio"}
    program = f"import sys\nimport hingeline.cli.run\nprint({names} & set(sys.modules))"
    outcome = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert outcome.stdout.strip() == "set()"
