"""Rigging sheets drawn at random: each figure is read as it was written; a spoilt one tells what to mend."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st
from tests.spoilt import FEW, refused_as, spoilt_bytes

from hingeline.errors import SheetError
from hingeline.rig import load_sheet, parse_sheet
from hingeline.rig.show import sheet_text

COMPLETE = (Path(__file__).parents[2] / "data" / "complete.rig.toml").read_bytes()
names = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12)
tenths = st.integers(1, 400).map(lambda tenth: tenth / 10)
throws = st.fixed_dictionaries({"up": tenths, "down": tenths})
surfaces = st.fixed_dictionaries(
    {
        "kind": st.sampled_from(["aileron", "elevator", "flap", "spoiler"]),
        "chord": st.integers(600, 3000).map(lambda tenth: tenth / 10),
        "sweep": st.integers(-300, 300).map(lambda tenth: tenth / 10),
        "throws": throws,
    }
)
sheets = st.fixed_dictionaries(
    {"aircraft": names, "mode": names, "surfaces": st.dictionaries(names, surfaces, min_size=1, max_size=3)}
)


def as_file(written) -> str:
    """A sheet as somebody writes it."""
    tables = {
        name: {
            "kind": surface["kind"],
            "chord": f"{surface['chord']} mm",
            "sweep": f"{surface['sweep']} deg",
            "throws": {written["mode"]: {way: f"{mm} mm" for way, mm in surface["throws"].items()}},
        }
        for name, surface in written["surfaces"].items()
    }
    return tomlkit.dumps(
        {"schema_version": 1, "aircraft": written["aircraft"], "modes": [written["mode"]], "surface": tables}
    )


@FEW
@given(sheets)
def test_every_figure_is_read_as_it_was_written(written):
    sheet = parse_sheet(as_file(written), "drawn.rig.toml")
    assert (sheet.aircraft, sheet.modes) == (written["aircraft"], (written["mode"],))
    assert list(sheet.surfaces) == list(written["surfaces"])
    for name, fields in written["surfaces"].items():
        surface = sheet.surface(name)
        assert (surface.kind, surface.chord_mm, surface.sweep_deg) == (
            fields["kind"],
            fields["chord"],
            fields["sweep"],
        )
        for target in sheet.targets(name):
            sign = 1 if target.command == "up" else -1
            assert target.travel_mm == pytest.approx(sign * fields["throws"][target.command])
    assert parse_sheet(as_file(written), "again") == sheet


@FEW
@given(spoilt_bytes(COMPLETE) | st.binary(max_size=80))
def test_a_spoilt_sheet_is_a_sheet_or_tells_what_to_mend(content):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "other.rig.toml"
        path.write_bytes(content)
        with refused_as(SheetError):
            sheet = load_sheet(path)
            assert sheet.targets()
            assert sheet.neutrals()
            assert sheet_text(sheet)
