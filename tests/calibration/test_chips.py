"""Every chip that the firmware may announce has its datasheet facts here."""

import ast
from pathlib import Path

from hingeline_calibration.chips import CHIPS

FIRMWARE = Path(__file__).parents[2] / "firmware" / "hingeline_firmware"


def announced() -> set[str]:
    """Return the names in the firmware's table of chips, and those of the kin its drivers recognise."""
    names: set[str] = set()
    for path in FIRMWARE.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Assign) and isinstance(node.value, ast.Dict):
                (target,) = (ast.unparse(one) for one in node.targets)
                if target == "CHIPS":
                    names |= {key.value for key in node.value.keys if isinstance(key, ast.Constant)}
                if target == "IDENTITIES":
                    names |= {value.value for value in node.value.values if isinstance(value, ast.Constant)}
    return names


def test_every_chip_of_the_firmware_is_known() -> None:
    assert len(announced()) > 6
    assert announced() <= set(CHIPS)
