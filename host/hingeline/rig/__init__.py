"""What does the aircraft's rigging sheet want?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from hingeline.rig.targets import NeutralTarget, Target

if TYPE_CHECKING:
    from hingeline.rig.sheet import Sheet

__all__ = ["NeutralTarget", "Target", "load_sheet", "parse_sheet"]


def load_sheet(path: Path) -> Sheet:
    """Return the rigging sheet at `path`.

    Raises
    ------
    SheetError
        The file can't be read, or has something to mend; all of it at once, each with line, key and cure.
    """
    from hingeline.errors import SheetError
    from hingeline.rig.toml_models import read_text

    return parse_sheet(read_text(path, SheetError), str(path))


def parse_sheet(text: str, name: str) -> Sheet:
    """Return a sheet from its text; `name` stands for the file in messages. Raises as `load_sheet`."""
    from hingeline.errors import SheetError
    from hingeline.rig.contradictions import contradictions
    from hingeline.rig.sheet import Sheet
    from hingeline.rig.toml_models import parse

    sheet = parse(text, name, Sheet, SheetError, contradictions)
    sheet._text = text
    return sheet
