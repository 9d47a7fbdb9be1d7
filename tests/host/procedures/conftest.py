"""Sheets for the tests of procedures."""

import pytest

from hingeline.rig import load_sheet

HEAD = """
schema_version = 1
aircraft = "Tin Plover"
modes = ["normal"]
[tolerances]
profile = "pattern"
"""


@pytest.fixture
def sheet_of(tmp_path):
    """A function that gives the sheet of some surfaces, as text."""

    def write(surfaces: str):
        path = tmp_path / "plover.rig.toml"
        path.write_text(HEAD + surfaces)
        return load_sheet(path)

    return write
