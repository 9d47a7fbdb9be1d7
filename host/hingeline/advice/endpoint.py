"""End points and sub-trims, in per cent, from the gain that two readings really show."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from hingeline.advice.verdict import edge, judge_neutral
from hingeline.errors import NotMeasurable, UsageProblem
from hingeline.units import amount

_LEAST_DISTINCT = 3.0  # standard uncertainties: below it a gain isn't known to a third of itself
_COVERAGE = 2.0  # of the uncertainty that is told: about 95 % (GUM 6.3.3)

_MECHANICAL = {
    "end point": "move the rod {holes}",
    "sub-trim": "set it to 0 and make the clevis, or another spline tooth of the servo arm, do its work: {edge}",
}
STEP_PERCENT = 1.0
"""Of a transmitter."""
_ONE_HOLE = 1.25
"""Times as far out on an arm of 8 to 10 mm, holes 2 to 2.5 mm apart: common practice, no source."""


@dataclass(frozen=True)
class Reading:
    """A deflection measured at a setting of the transmitter; at neutral an end point counts as 0 %."""

    setting_percent: float
    deflection_deg: float
    standard_uncertainty_deg: float


@dataclass(frozen=True)
class Gain:
    """What 1 % of a setting moves, from two readings of one linkage.

    Raises `UsageProblem` where both are of one setting, and `NotMeasurable` where they differ by less than three times
    the uncertainty of their difference.
    """

    earlier: Reading
    later: Reading

    def __post_init__(self) -> None:
        if not self._step_percent:
            raise UsageProblem(
                f"both readings are at {self.later.setting_percent:g} %, expected two settings",
                "Change the setting, measure again",
            )
        noise_deg = hypot(self.earlier.standard_uncertainty_deg, self.later.standard_uncertainty_deg)
        if abs(self.step_deg) < _LEAST_DISTINCT * noise_deg:
            raise NotMeasurable(
                f"{self._step_percent:+g} % moved the surface {self.step_deg:+.2f}°, "
                f"expected at least {_LEAST_DISTINCT * noise_deg:.2f}° to tell it from noise",
                "Change the setting by more, measure again",
            )

    @property
    def deg_per_percent(self) -> float:
        """The slope between the readings; negative where a larger setting is more trailing edge down."""
        return self.step_deg / self._step_percent

    @property
    def step_deg(self) -> float:
        """How far the surface went from the earlier reading to the later."""
        return self.later.deflection_deg - self.earlier.deflection_deg

    @property
    def _step_percent(self) -> float:
        return self.later.setting_percent - self.earlier.setting_percent


@dataclass(frozen=True)
class SettingAdvice:
    """What to set, in whole steps of the transmitter, and what that leaves.

    The kind is what the setting is called; an end point and a sub-trim have a mechanical way out beyond their limit.
    The setting stays where the reading is within the tolerance, or where no step does better. `wanted_percent` would
    meet the target exactly. Where the limit is exceeded, `mechanical_deg` is all that the setting would have to do: it
    is to be done mechanically, and `new_percent` is what the setting goes to.
    """

    kind: str
    now: Reading
    gain: Gain
    target_deg: float
    wanted_percent: float
    new_percent: float
    limit_percent: float
    mechanical_deg: float | None

    @property
    def moves_deg(self) -> float:
        """How the trailing edge moves."""
        return (self.new_percent - self.now.setting_percent) * self.gain.deg_per_percent

    @property
    def remaining_deg(self) -> float:
        """What is then still to be added."""
        return self.target_deg - self.now.deflection_deg - self.moves_deg

    @property
    def standard_uncertainty_percent(self) -> float:
        """Of the setting that meets the target, by the GUM's law of propagation (5.1.2).

        The readings are independent inputs; one that serves twice counts once, with the sum of its sensitivities.
        """
        share = (self.target_deg - self.now.deflection_deg) / self.gain.step_deg
        sensitivities: dict[Reading, float] = {}
        for reading, sensitivity in ((self.now, -1.0), (self.gain.later, -share), (self.gain.earlier, share)):
            sensitivities[reading] = sensitivities.get(reading, 0.0) + sensitivity
        in_deg = hypot(*(s * reading.standard_uncertainty_deg for reading, s in sensitivities.items()))
        return in_deg / abs(self.gain.deg_per_percent)

    def text(self) -> str:
        """The advice in words."""
        if self.mechanical_deg is not None:
            cure = _MECHANICAL[self.kind].format(holes=self._holes(), edge=edge(self.mechanical_deg))
            return f"the {self.kind} would go past {self.limit_percent:g} %: {cure}"
        now_percent = self.now.setting_percent
        if self.new_percent == now_percent:
            return (
                f"leave the {self.kind} at {now_percent:g} %: no step of {STEP_PERCENT:g} % does better than "
                f"{amount(self.remaining_deg)} off"
            )
        return (
            f"set the {self.kind} from {now_percent:g} % to {self.new_percent:g} % "
            f"(± {_COVERAGE * self.standard_uncertainty_percent:.1f} %): {edge(self.moves_deg)}"
        )

    def _holes(self) -> str:
        """Where the rod is to go: by one hole where the end point does the rest, else so that 100 % will do."""
        if self.wanted_percent <= _ONE_HOLE * self.limit_percent:
            return "one hole out on the servo arm or one hole in on the horn"
        times = self.wanted_percent / 100
        return (
            f"to a hole about {times:.1f} times as far out on the servo arm, "
            f"or about {1 / times:.2g} times as far out on the horn"
        )


def advise_setting(
    kind: str, now: Reading, gain: Gain, *, target_deg: float, tolerance_deg: float, limit_percent: float
) -> SettingAdvice:
    """The setting that meets a target; within the tolerance nothing is changed, beyond the limit it is mechanical.

    The readings of the gain are best far apart; one may be `now`. For an end point the other is the neutral, at 0 %.
    """
    wanted_percent = now.setting_percent + (target_deg - now.deflection_deg) / gain.deg_per_percent
    new_percent, mechanical_deg = STEP_PERCENT * round(wanted_percent / STEP_PERCENT), None
    if judge_neutral(now.deflection_deg, target_deg, tolerance_deg).inside:
        new_percent = now.setting_percent
    elif abs(new_percent) > limit_percent:
        mechanical_deg = wanted_percent * gain.deg_per_percent
        new_percent = 0.0 if kind == "sub-trim" else limit_percent
    elif abs(new_percent - wanted_percent) >= abs(now.setting_percent - wanted_percent):
        new_percent = now.setting_percent
    return SettingAdvice(kind, now, gain, target_deg, wanted_percent, new_percent, limit_percent, mechanical_deg)
