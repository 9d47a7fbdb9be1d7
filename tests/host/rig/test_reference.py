"""docs/rigging-sheet.md tells every key, profile and kind as the models have them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from hingeline.rig.kinds import KINDS
from hingeline.rig.sheet import Sheet
from hingeline.rig.surface import Linkage, Neutral, Strip, Surface, Travel
from hingeline.rig.tolerances import PROFILES, SheetTolerances, Tolerances
from hingeline.rig.toml_models import TomlModel

REFERENCE = (Path(__file__).parents[3] / "docs" / "rigging-sheet.md").read_text(encoding="utf-8")
BY_KIND = ("kind", "sides", "dihedral")


def key_table(model: type[TomlModel]) -> str:
    """The table of a model's keys as the reference has it."""
    rows = ["| key | meaning | example |", "|---|---|---|"]
    for own, field in model.model_fields.items():
        key = field.alias or own
        needed = "**needed**: " if field.is_required() and key not in BY_KIND else ""
        example = f"`{key} = {json.dumps(field.examples[0])}`" if field.examples else ""
        rows.append(f"| `{key}` | {needed}{field.description} | {example} |")
    return "\n".join(rows)


def kind_table() -> str:
    rows = ["| kind | sides | tables of throws | directions | dihedral |", "|---|---|---|---|---|"]
    for name, kind in KINDS.items():
        tables = ", ".join(f"`{table}`" for table in kind.tables)
        sides, directions = ", ".join(kind.sides), ", ".join(kind.directions)
        rows.append(f"| `{name}` | {sides} | {tables} | {directions} | {kind.dihedral_deg:g} deg |")
    return "\n".join(rows)


def profile_table() -> str:
    rows = ["| profile | neutral | throw | match | preset |", "|---|---|---|---|---|"]
    for name, figures in PROFILES.items():
        rows.append(" | ".join([f"| `{name}`", *(f"{figure.value:g} deg" for figure in figures.values())]) + " |")
    return "\n".join(rows)


@pytest.mark.parametrize(
    "model",
    [Sheet, SheetTolerances, Surface, Neutral, Travel, Tolerances, Linkage, Strip],
    ids=lambda model: model.__name__,
)
def test_the_reference_has_every_key(model):
    assert key_table(model) in REFERENCE


def test_the_reference_has_every_kind_and_profile():
    assert kind_table() in REFERENCE
    assert profile_table() in REFERENCE
