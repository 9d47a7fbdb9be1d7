"""docs/scenario.md tells every key, command and chip as the models have them, and its examples work."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from hingeline.rig.toml_models import TomlModel, parse
from hingeline_virtual import commands, scenario
from hingeline_virtual.chips import CHIPS
from hingeline_virtual.scenario_file import ScenarioError, contradictions, load_scenario
from hingeline_virtual.schedule import parse_command, parse_line

ROOT = Path(__file__).parents[2]
REFERENCE = (ROOT / "docs" / "scenario.md").read_text(encoding="utf-8")
TABLES = [
    scenario.Scenario,
    scenario.Table,
    scenario.Hands,
    scenario.Room,
    scenario.Board,
    scenario.Sensor,
    scenario.Surface,
]
COMMANDS = get_args(get_args(commands.Command)[0])
SIGNS = {"ge": "≥", "gt": ">", "le": "≤", "lt": "<"}


def limits(field: FieldInfo) -> str:
    limits_set = [(SIGNS[name], getattr(m, name)) for m in field.metadata for name in SIGNS if hasattr(m, name)]
    return ", ".join(f"{sign} {limit:g}" for sign, limit in limits_set)


def default(field: FieldInfo) -> str:
    if field.is_required():
        return "**needed**"
    if "; default: " in (field.description or ""):
        return ""
    value: Any = field.get_default(call_default_factory=True)
    if value is PydanticUndefined or value is None or isinstance(value, TomlModel) or value in ([], {}):
        return ""
    return f"`{json.dumps(value)}`"


def key_table(model: type[TomlModel]) -> str:
    """The table of a model's keys as the reference has it."""
    rows = ["| key | meaning | limits | default |", "|---|---|---|---|"]
    for key, field in model.model_fields.items():
        if key not in ("do", "after_s"):
            rows.append(f"| `{key}` | {field.description} | {limits(field)} | {default(field)} |")
    return "\n".join(rows)


def command_section(model: type[TomlModel]) -> str:
    """What the reference says of a command."""
    name = get_args(model.model_fields["do"].annotation)[0]
    keys = key_table(model)
    section = f"### {name}\n\n{model.__doc__}\n"
    return section if keys.count("\n") == 1 else f"{section}\n{keys}\n"


def chip_table() -> str:
    rows = ["| chip | usual address | noise density of x, y, z, µg/√Hz |", "|---|---|---|"]
    for name, chip in CHIPS.items():
        usual = scenario.Sensor.model_validate({"name": "s", "chip": name}).address
        rows.append(f"| `{name}` | 0x{usual:02X} | {', '.join(f'{density:g}' for density in chip.NOISE_UG)} |")
    return "\n".join(rows)


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", REFERENCE, re.DOTALL)


@pytest.mark.parametrize("model", TABLES, ids=lambda model: model.__name__)
def test_the_reference_has_every_key(model):
    assert key_table(model) in REFERENCE


@pytest.mark.parametrize("model", COMMANDS, ids=lambda model: model.__name__)
def test_the_reference_has_every_command(model):
    assert command_section(model) in REFERENCE


def test_the_reference_has_every_chip_and_each_can_be_chosen():
    assert chip_table() in REFERENCE
    assert all(scenario.Sensor(name="s", chip=chip).chip == chip for chip in CHIPS)


def test_the_examples_of_the_reference_work():
    toml, lines = blocks("toml"), [line for block in blocks("json") for line in block.splitlines()]
    assert toml
    assert lines
    for text in toml:
        parse(text, "docs/scenario.md", scenario.Scenario, ScenarioError, contradictions)
    for line in lines:
        fields = parse_line(line)
        fields.pop("id", None)
        parse_command(fields)


@pytest.mark.parametrize("path", sorted(ROOT.glob("host/**/scenarios/*.toml")), ids=lambda path: path.name)
def test_every_scenario_that_comes_along_is_sound(path):
    assert load_scenario(path).boards
