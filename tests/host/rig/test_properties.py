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


def as_file(told) -> str:
    """Return a sheet as somebody writes it."""
    tables = {
        name: {
            "kind": one["kind"],
            "chord": f"{one['chord']} mm",
            "sweep": f"{one['sweep']} deg",
            "throws": {told["mode"]: {way: f"{mm} mm" for way, mm in one["throws"].items()}},
        }
        for name, one in told["surfaces"].items()
    }
    return tomlkit.dumps(
        {"schema_version": 1, "aircraft": told["aircraft"], "modes": [told["mode"]], "surface": tables}
    )


@FEW
@given(sheets)
def test_every_figure_is_read_as_it_was_written(told):
    sheet = parse_sheet(as_file(told), "drawn.rig.toml")
    assert (sheet.aircraft, sheet.modes) == (told["aircraft"], (told["mode"],))
    assert list(sheet.surfaces) == list(told["surfaces"])
    for name, one in told["surfaces"].items():
        surface = sheet.surface(name)
        assert (surface.kind, surface.chord_mm, surface.sweep_deg) == (
            one["kind"],
            one["chord"],
            one["sweep"],
        )
        for target in sheet.targets(name):
            sign = 1 if target.command == "up" else -1
            assert target.travel_mm == pytest.approx(sign * one["throws"][target.command])
    assert parse_sheet(as_file(told), "again") == sheet


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
