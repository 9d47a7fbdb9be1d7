"""The advice on a neutral from one reading to the next: clevis first, then sub-trim by the gain it shows."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hingeline.advice import Advice
from hingeline.advice.endpoint import Gain, Reading
from hingeline.advice.linkage import Linkage
from hingeline.advice.neutral import Clevis, advise_neutral
from hingeline.errors import NotMeasurable, SheetError
from hingeline.rig import surface as rig
from hingeline.rig.sheet import Sheet


@dataclass(frozen=True)
class Trim:
    """What was advised to one side so far, and what that did.

    Sub-trims count from where the sub-trim stands at the first reading, as if that were 0; `setting_percent` is the one
    advised last, at most what the sheet allows. There is a clevis where the sheet has a linkage, a reading before from
    the second on, and a gain of the sub-trim once a change has shown it.
    """

    clevis: Clevis | None
    limit_percent: float
    setting_percent: float = 0.0
    before: Reading | None = None
    gain: Gain | None = None

    def advise(
        self, now_deg: float, standard_uncertainty_deg: float, wanted_deg: float, tolerance_deg: float
    ) -> tuple[Trim, Advice]:
        """This trim after an advice, and the advice; what was advised before is taken to have been done."""
        now = Reading(self.setting_percent, now_deg, standard_uncertainty_deg)
        known = replace(self, before=now, gain=self._gain(now))
        advice = advise_neutral(
            now,
            target_deg=wanted_deg,
            tolerance_deg=tolerance_deg,
            clevis=self.clevis,
            gain=known.gain,
            limit_percent=self.limit_percent,
        )
        if advice.setting_percent is not None:
            known = replace(known, setting_percent=advice.setting_percent)
        return known, advice

    def _gain(self, now: Reading) -> Gain | None:
        """What the last change of sub-trim did; as known before where it was not changed."""
        if self.before is None or self.before.setting_percent == now.setting_percent:
            return self.gain
        try:
            return Gain(self.before, now)
        except NotMeasurable:
            return None


def clevis_of(given: rig.Linkage | None) -> Clevis | None:
    """The clevis of a sheet, on its four-bar chain where the sheet describes that too."""
    return None if given is None else Clevis(given.pitch_mm, given.horn_mm, chain_of(given))


def chain_of(given: rig.Linkage | None) -> Linkage | None:
    """The four-bar chain of a sheet, arm and horn square at neutral; None where a dimension is missing."""
    if given is None or given.arm_mm is None or given.rod_mm is None or given.horn_side is None:
        return None
    return Linkage.square(given.arm_mm, given.horn_mm, given.rod_mm, given.horn_side)


def described_chain(sheet: Sheet, surface: str) -> Linkage:
    """The four-bar chain of a surface. Raises `SheetError` where the sheet does not describe it."""
    chain = chain_of(sheet.surface(surface).linkage)
    if chain is None:
        raise SheetError(
            f"surface.{surface}: the linkage is not described, expected arm, horn, rod and horn_side",
            f"Measure them and fill in [surface.{surface}.linkage]",
        )
    return chain
