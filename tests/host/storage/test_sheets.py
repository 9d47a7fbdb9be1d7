"""Sheets begun from a template, by the names that people give them."""

import pytest

from hingeline.errors import SheetError
from hingeline.rig import load_sheet
from hingeline.storage.sheets import new_sheet


def test_the_aircraft_is_called_as_its_file(tmp_path):
    path = tmp_path / "Moss Lantern.rig.toml"
    new_sheet(path, "glider")
    assert load_sheet(path).aircraft == "Moss Lantern"
    before = path.read_bytes()
    with pytest.raises(SheetError, match="exists and isn't overwritten"):
        new_sheet(path, "jet")
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("name", "better"),
    [
        ("lantern", "lantern"),
        ("lantern.toml", "lantern"),
        (".rig.toml", "aircraft"),
        ("lantern.rig.toml.", "lantern"),
        ("COM1", "_COM1"),
        ("CON.rig.toml", "_CON"),
        ("aux.x.rig.toml", "_aux.x"),
    ],
)
def test_a_name_that_names_no_aircraft_or_a_device_is_refused_with_a_better_one(tmp_path, name, better):
    with pytest.raises(SheetError, match=rf"Name it {better}\.rig\.toml\.$"):
        new_sheet(tmp_path / name, "glider")
    assert list(tmp_path.iterdir()) == []
