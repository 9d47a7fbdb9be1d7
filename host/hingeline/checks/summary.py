"""What several throws say together: how well they repeat, and how much less a surface goes down than up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from statistics import fmean

from hingeline.advice.linkage import Linkage
from hingeline.advice.prediction import candidates
from hingeline.checks.positions import NEUTRAL, Position
from hingeline.checks.results import ThrowResult
from hingeline.errors import LinkageBinds
from hingeline.rig.kinds import is_side
from hingeline.rig.surface import Surface
from hingeline.rig.targets import function_of
from hingeline.units import Side

UNINTENDED_PERCENT = 5.0
"""More differential than this beyond what is wanted is told: common practice, no source."""

_EVEN_PERCENT = 0.05
"""Throws that differ by less are written alike: mm and degrees round differently."""


@dataclass(frozen=True)
class Repeatability:
    """A position in all cycles: the mean, and from the least to the greatest."""

    mode: str
    command: str
    side: Side
    cycles: int
    mean_deg: float
    spread_deg: float

    def text(self) -> str:
        """One line for a reader."""
        return (
            f"{self.side} {self.command} ({self.mode}): {self.mean_deg:+.2f}° over {self.cycles} cycles, "
            f"spread {self.spread_deg:.2f}°"
        )


@dataclass(frozen=True)
class Differential:
    """By how much the throw down falls short of the throw up, beside what the sheet wants.

    Attributes
    ----------
    given
        Whether the sheet gives it as such; two throws that differ are each told for themselves.
    """

    mode: str
    function: str
    side: Side
    percent: float
    wanted_percent: float
    given: bool = False
    causes: tuple[str, ...] = field(default=())

    @property
    def unintended(self) -> bool:
        """Whether it is further from what is wanted than `UNINTENDED_PERCENT`."""
        return abs(self.percent - self.wanted_percent) > UNINTENDED_PERCENT

    @property
    def even(self) -> bool:
        """Whether the sheet wants as much down as up."""
        return abs(self.wanted_percent) < _EVEN_PERCENT

    def text(self) -> str:
        """One line for a reader; empty where the sheet gives none, and none is unintended."""
        throw = f"{' '.join(word for word in (self.side, self.function) if word)} ({self.mode})"
        if self.given:
            words = f"{throw}: differential {self.percent:.0f} %, wanted {self.wanted_percent:.0f} %"
        elif self.even and self.unintended:
            less = "less" if self.percent > 0 else "more"
            words = f"{throw}: {abs(self.percent):.0f} % {less} down than up, wanted alike"
        else:
            return ""
        return "; ".join((words, *(f"at equal end points {cause}" for cause in self.causes)))


@dataclass(frozen=True)
class Summary:
    """Both, of one surface."""

    repeatability: tuple[Repeatability, ...]
    differential: tuple[Differential, ...]

    def text(self) -> str:
        """A line for each; of one cycle, no repeatability."""
        rows = [row.text() for row in self.repeatability] + [row.text() for row in self.differential]
        return "\n".join(line for line in rows if line)


def summarise(
    readings: Sequence[ThrowResult],
    positions: Iterable[Position],
    linkage: Linkage | None,
    given: Collection[tuple[str, str]] = (),
) -> Summary:
    """Sum up the readings of one surface.

    Parameters
    ----------
    readings
        Of all positions.
    positions
        Those of the surface.
    linkage
        As it is meant: causes are candidates, found on it.
    given
        Mode and function of each differential that the sheet gives.
    """
    by_place: defaultdict[tuple[str, str, Side], list[float]] = defaultdict(list)
    by_target: defaultdict[tuple[str, str, Side], list[float]] = defaultdict(list)
    wanted: dict[tuple[str, str, Side], float] = {}
    targets = {(position.mode, position.command): position.targets for position in positions}
    for reading in readings:
        at = targets.get((reading.mode, reading.command), {})
        for judgement in reading.judgements:
            side, deg = judgement.name, judgement.measured.deg
            if not is_side(side) or judgement.wrong:
                continue
            if reading.command == NEUTRAL or side in at:
                by_place[reading.mode, reading.command, side].append(deg)
            if side in at:
                key = (reading.mode, at[side].command, side)
                by_target[key].append(deg)
                wanted[key] = at[side].deflection_deg
    means = {key: fmean(values) for key, values in by_target.items()}
    return Summary(
        tuple(
            Repeatability(*key, len(values), fmean(values), max(values) - min(values))
            for key, values in by_place.items()
            if len(values) > 1
        ),
        tuple(_differentials(means, wanted, linkage, given)),
    )


def given_differentials(surface: Surface) -> set[tuple[str, str]]:
    """Mode and function of each differential that the sheet gives for a surface."""
    return {
        (mode, function_of(table))
        for table, travels in surface.travels().items()
        for mode, travel in travels.items()
        if travel.differential_percent is not None
    }


def _differentials(
    means: dict[tuple[str, str, Side], float],
    wanted: dict[tuple[str, str, Side], float],
    linkage: Linkage | None,
    given: Collection[tuple[str, str]],
) -> list[Differential]:
    differentials = []
    for (mode, command, side), up_deg in means.items():
        function, _, direction = command.rpartition(" ")
        down = (mode, f"{function} down".strip(), side)
        if direction != "up" or down not in means or not up_deg:
            continue
        intended = _percent(wanted[mode, command, side], wanted[down])
        differential = Differential(
            mode, function, side, _percent(up_deg, means[down]), intended, (mode, function) in given
        )
        causes = _causes(linkage, up_deg, means[down]) if differential.unintended and differential.even else ()
        differentials.append(replace(differential, causes=causes))
    return differentials


def _percent(up_deg: float, down_deg: float) -> float:
    return 100 * (1 - abs(down_deg / up_deg))


def _causes(linkage: Linkage | None, up_deg: float, down_deg: float) -> tuple[str, ...]:
    if linkage is None:
        return ()
    try:
        servo_deg = linkage.servo_deg((up_deg - down_deg) / 2)
    except LinkageBinds:
        return ()
    return tuple(cause.text() for cause in candidates(linkage, [(servo_deg, up_deg), (-servo_deg, down_deg)]))
