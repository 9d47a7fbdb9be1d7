"""What is to be turned, and by how much?

Figures in, frozen results out, in the trade's words. Directions are those of DEVELOPERS.md: trailing edge up is
positive, a mismatch is left minus right. Limits and tolerances are the rigging sheet's.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Advice:
    """What to turn, in words; empty where there is nothing to do or to say.

    Following it moves the trailing edge by `moves_deg`, up positive; 0 where that is to be found out. The transmitter
    is to be set to `setting_percent`, where that is the advice.
    """

    text: str = ""
    moves_deg: float = 0.0
    setting_percent: float | None = None
