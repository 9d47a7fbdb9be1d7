"""Every chip that the firmware may announce has its datasheet facts here."""

import ast
from pathlib import Path

from hingeline_calibration.chips import CHIPS

DRIVERS = Path(__file__).parents[2] / "firmware" / "hingeline_firmware" / "chips"


def announced() -> set[str]:
    """Read the names in the firmware's table of chips, and those of the kin its drivers recognise."""
    names: set[str] = set()
    for path in DRIVERS.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, (ast.Assign, ast.AnnAssign)) and isinstance(node.value, ast.Dict):
                target = ast.unparse(node.targets[0] if isinstance(node, ast.Assign) else node.target)
                values = {"CHIPS": node.value.keys, "IDENTITIES": node.value.values}.get(target, [])
                names |= {value.value for value in values if isinstance(value, ast.Constant)}
    return names


def test_every_chip_of_the_firmware_is_known() -> None:
    assert len(announced()) > 6
    assert announced() <= set(CHIPS)
