"""The linkage of a sheet: with arm, rod and the side of the horn it is a chain, without them a clevis alone."""

import pytest

from hingeline.advice.linkage import Linkage
from hingeline.checks.linkage import chain_of, clevis_of, described_chain
from hingeline.errors import SheetError
from hingeline.rig import parse_sheet

WHOLE = {"thread": "M2", "arm": "12 mm", "horn": "15 mm", "rod": "100 mm", "horn_side": "top"}


def sheet_of(linkage):
    """A flap with a linkage of some dimensions."""
    table = ", ".join(f'{name} = "{value}"' for name, value in linkage.items())
    text = f'schema_version = 1\naircraft = "Even"\nmodes = ["normal"]\n[surface.flap]\nlinkage = {{ {table} }}\n'
    text += 'throws.normal = { down = "30 deg" }\n'
    return parse_sheet(text, "even")


def test_a_whole_linkage_is_a_chain():
    sheet = sheet_of(WHOLE)
    chain = described_chain(sheet, "flap")
    assert chain.deflection_deg(0.0) == pytest.approx(0.0, abs=1e-9)
    assert chain.deflection_deg(45.0) == pytest.approx(Linkage.square(12, 15, 100).deflection_deg(45.0))
    clevis = clevis_of(sheet.surface("flap").linkage)
    assert (clevis.pitch_mm, clevis.horn_mm, clevis.linkage) == (0.4, 15.0, chain)


def test_arm_and_horn_are_square_where_nothing_else_is_said():
    """Turned either way by as much, a square chain moves the surface as far; one that leans does not."""
    up_deg, down_deg = (abs(chain_of_table(WHOLE).deflection_deg(arm_deg)) for arm_deg in (30.0, -30.0))
    level = Linkage.square(12, 15, 100)
    assert up_deg == pytest.approx(abs(level.deflection_deg(30.0)), abs=1e-9)
    assert down_deg == pytest.approx(abs(level.deflection_deg(-30.0)), abs=1e-9)
    for lean in ("arm_lean", "horn_lean"):
        leaned = chain_of_table(WHOLE | {lean: "5 deg"})
        assert abs(leaned.deflection_deg(30.0)) != pytest.approx(up_deg, abs=0.1)


def chain_of_table(linkage):
    return described_chain(sheet_of(linkage), "flap")


def test_without_arm_rod_and_side_only_the_clevis_is_left():
    sheet = sheet_of({"thread": "M2", "horn": "15 mm"})
    given = sheet.surface("flap").linkage
    assert chain_of(given) is None
    assert clevis_of(given).linkage is None
    with pytest.raises(SheetError, match="the linkage is not described, expected arm, horn, rod and horn_side"):
        described_chain(sheet, "flap")


def test_without_a_linkage_there_is_neither():
    assert chain_of(None) is None
    assert clevis_of(None) is None
