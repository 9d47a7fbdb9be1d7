"""Every chip that the firmware may announce has its datasheet facts, and these are what the datasheets print."""

import ast
from pathlib import Path

import pytest

from hingeline_calibration.chips import CHIPS, chip_facts
from hingeline_calibration.errors import CalibrationError

from .datasheets import SHEETS

DRIVERS = Path(__file__).parents[2] / "firmware" / "hingeline_firmware" / "chips"


def announced() -> set[str]:
    """The names of the drivers, and those of the kin they recognise."""
    paths = [path for path in DRIVERS.glob("*.py") if path.stem != "__init__"]
    kin = {
        value.value
        for path in paths
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) in ("IDENTITIES", "KIN")
        if isinstance(node.value, ast.Dict)
        for value in (*node.value.keys, *node.value.values)
        if isinstance(value, ast.Constant) and isinstance(value.value, str)
    }
    return kin | {path.stem for path in paths}


def test_every_chip_of_the_firmware_is_known() -> None:
    assert len(announced()) > 6
    assert announced() <= set(CHIPS)
    assert set(CHIPS) == set(SHEETS)


@pytest.mark.parametrize("chip", SHEETS)
def test_limits_are_those_of_the_datasheet(chip: str) -> None:
    facts, sheet = chip_facts(chip), SHEETS[chip]
    assert facts.noise_ug_per_rthz == sheet.noise.axes
    assert facts.offset_mg == sheet.offset.axes
    assert facts.tempco_mg_per_c == sheet.tempco.axes
    assert (facts.scale_percent, facts.cross_axis_percent) == (sheet.scale.value, sheet.cross_axis.value)
    assert (facts.counts_per_g, facts.step_counts) == (sheet.counts_per_g, sheet.step)


def test_a_chip_that_is_not_in_the_table_is_named_with_the_cure() -> None:
    with pytest.raises(CalibrationError, match=r"chip 'abacus', expected one of mpu6050, .*Update hingeline"):
        chip_facts("abacus")
