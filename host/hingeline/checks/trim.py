"""The advice on a neutral from one reading to the next: clevis first, then sub-trim by the gain it shows."""

from __future__ import annotations

from hingeline.advice.clevis import Clevis, ClevisAdvice
from hingeline.advice.endpoint import Gain, Reading, SettingAdvice
from hingeline.advice.linkage import Linkage
from hingeline.advice.neutral import LookFirst, Probe, advise_neutral
from hingeline.advice.verdict import edge
from hingeline.checks.judgement import Advice
from hingeline.errors import NotMeasurable
from hingeline.rig import surface as rig


class Trim:
    """What was advised to one side so far, and what that did.

    Sub-trims count from where the sub-trim stands at the first reading, as if that were 0.

    Parameters
    ----------
    surface
        Of the sheet, with or without a linkage.
    limit_percent
        The most sub-trim that the sheet allows.
    """

    def __init__(self, surface: rig.Surface, limit_percent: float) -> None:
        self._clevis = clevis_of(surface.linkage)
        self._limit_percent = limit_percent
        self._setting_percent = 0.0
        self._before: Reading | None = None
        self._gain: Gain | None = None

    def advise(
        self, now_deg: float, standard_uncertainty_deg: float, wanted_deg: float, tolerance_deg: float
    ) -> Advice:
        """Return what to do next, taking for granted that what was advised before has been done."""
        now = Reading(self._setting_percent, now_deg, standard_uncertainty_deg)
        self._learn(now)
        step = advise_neutral(
            now,
            target_deg=wanted_deg,
            tolerance_deg=tolerance_deg,
            clevis=self._clevis,
            gain=self._gain,
            limit_percent=self._limit_percent,
        )
        if isinstance(step, Probe):
            self._setting_percent = step.setting_percent
            return Advice(step.text() + self._mechanical, setting_percent=step.setting_percent)
        if isinstance(step, SettingAdvice):
            self._setting_percent = step.new_percent
            moves_deg = step.moves_deg + (step.mechanical_deg or 0.0)
            return Advice(step.text(), moves_deg, step.new_percent)
        if isinstance(step, LookFirst):
            return Advice(step.text(), step.gap_deg)
        if isinstance(step, ClevisAdvice):
            return Advice(step.text(), step.moves_deg)
        return Advice() if step.inside else Advice(edge(step.gap), step.gap)

    @property
    def _mechanical(self) -> str:
        if self._clevis is not None:
            return ""
        return "; with a linkage in the sheet, half turns of the clevis are told first"

    def _learn(self, now: Reading) -> None:
        before, self._before = self._before, now
        if before is None or before.setting_percent == now.setting_percent:
            return
        try:
            self._gain = Gain(before, now)
        except NotMeasurable:
            self._gain = None


def clevis_of(given: rig.Linkage | None) -> Clevis | None:
    """Return the clevis that a sheet describes, on its four-bar chain where that is described too."""
    return None if given is None else Clevis(given.pitch_mm, given.horn_mm, chain_of(given))


def chain_of(given: rig.Linkage | None) -> Linkage | None:
    """Return the four-bar chain of a sheet, as it is meant to be; None where it isn't wholly described."""
    if given is None or given.arm_mm is None or given.rod_mm is None or given.horn_side is None:
        return None
    return Linkage.square(given.arm_mm, given.horn_mm, given.rod_mm, given.horn_side)
