"""`--version` and `--help` stay light; every command explains itself."""

import subprocess
import sys

import pytest

from hingeline.cli import COMMANDS

HEAVY = ("numpy", "scipy", "pydantic", "serial", "tomlkit", "jinja2", "matplotlib", "rich", "segno")


@pytest.mark.parametrize("arguments", [["--version"], ["--help"], *([name, "--help"] for name in COMMANDS)])
def test_no_numerical_stack_is_imported(arguments):
    program = (
        "import sys\nfrom hingeline.cli import main\n"
        f"sys.argv = ['hingeline', *{arguments!r}]\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert not end.code\n"
        f"print(sorted(set({HEAVY!r}) & set(sys.modules)))"
    )
    outcome = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert outcome.stdout.splitlines()[-1] == "[]"


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


def test_who_wants_no_page_and_no_speech_waits_for_neither():
    names = {"http.server", "subprocess", "miniaudio"}
    program = f"import sys\nimport hingeline.cli.run\nprint({names} & set(sys.modules))"
    outcome = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert outcome.stdout.strip() == "set()"
