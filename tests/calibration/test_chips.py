"""Every chip that the firmware may announce has its datasheet facts here."""

import ast
from pathlib import Path

from hingeline_calibration.chips import CHIPS

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
