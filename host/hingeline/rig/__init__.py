"""What does the aircraft's rigging sheet ask for?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from hingeline.rig.sheet import Sheet


def load_sheet(path: Path) -> Sheet:
    """Read the rigging sheet at `path`.

    Raises `SheetError`: it can't be read, or has something to fix, every problem with its line, key and cure.
    """
    from hingeline.errors import SheetError
    from hingeline.rig.toml_models import read_text

    return parse_sheet(read_text(path, SheetError), str(path))


def parse_sheet(text: str, name: str) -> Sheet:
    """Read a sheet from its text; `name` stands for the file in messages. Raises as `load_sheet`."""
    from hingeline.errors import SheetError
    from hingeline.rig.contradictions import contradictions
    from hingeline.rig.sheet import Sheet
    from hingeline.rig.toml_models import parse

    sheet = parse(text, name, Sheet, SheetError, contradictions)
    sheet._text = text
    return sheet
