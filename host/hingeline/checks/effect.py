"""What a left/right mismatch of a surface does, from the strips of the rigging sheet."""

from __future__ import annotations

from hingeline.advice import mismatch
from hingeline.rig.sheet import Sheet
from hingeline.rig.surface import Surface

ROLLS = ("aileron", "flaperon", "elevon")
"""Kinds of surface that balance a roll."""


def effect_text(sheet: Sheet, surface: str, mismatch_deg: float) -> str:
    """What a mismatch (left minus right) does in flight, with its assumptions; empty without the strips for it."""
    own = _strip(sheet.surface(surface))
    ailerons = (given for given in sheet.surfaces.values() if given.kind in ROLLS)
    balancing = next((strip for strip in map(_strip, ailerons) if strip), None)
    if own is None or balancing is None:
        return ""
    return mismatch.balance(mismatch_deg, own, balancing).text()


def _strip(surface: Surface) -> mismatch.Strip | None:
    given, chord_mm = surface.strip, surface.chord_mm
    if given is None or chord_mm is None:
        return None
    return mismatch.Strip(given.span_mm, given.wing_chord_mm, chord_mm, given.arm_mm)
