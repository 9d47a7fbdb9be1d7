"""The workflow of the repository's host runs the commands of README.md, as README.md spells them."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_it_runs_the_commands_of_the_readme():
    workflow = (ROOT / ".github/workflows/ci.yml").read_text(encoding="utf-8")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = {
        line.split("  #")[0].strip()
        for block in re.findall(r"```sh\n(.*?)```", readme, re.S)
        for line in block.splitlines()
    }
    assert shown == set(re.findall(r"run: (.*)", workflow)) - {"make lint"}
