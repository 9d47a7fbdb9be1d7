"""The linkage of a surface, as far as its sheet describes it: the clevis, and the four-bar chain."""

from __future__ import annotations

from hingeline.advice.linkage import Linkage
from hingeline.advice.neutral import Clevis
from hingeline.errors import SheetError
from hingeline.rig import surface as rig
from hingeline.rig.sheet import Sheet


def clevis_of(given: rig.Linkage | None) -> Clevis | None:
    """The clevis of a sheet, on its four-bar chain where the sheet describes that too."""
    return None if given is None else Clevis(given.pitch_mm, given.horn_mm, chain_of(given))


def chain_of(given: rig.Linkage | None) -> Linkage | None:
    """The four-bar chain of a sheet, as arm and horn lean at neutral; None where a dimension is missing."""
    if given is None or given.arm_mm is None or given.rod_mm is None or given.horn_side is None:
        return None
    square = Linkage.square(given.arm_mm, given.horn_mm, given.rod_mm, given.horn_side)
    return square.leaning_aft(given.arm_lean_deg, given.horn_lean_deg)


def described_chain(sheet: Sheet, surface: str) -> Linkage:
    """The four-bar chain of a surface. Raises `SheetError` where the sheet does not describe it."""
    chain = chain_of(sheet.surface(surface).linkage)
    if chain is None:
        raise SheetError(
            f"surface.{surface}: the linkage is not described, expected arm, horn, rod and horn_side",
            f"Measure them and fill in [surface.{surface}.linkage]",
        )
    return chain
