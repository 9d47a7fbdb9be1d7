"""What several throws say together: how well they repeat, and how much less a surface goes down than up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean

from hingeline.advice.linkage import Linkage
from hingeline.advice.prediction import candidates
from hingeline.checks.positions import NEUTRAL, Key, Position, key_of
from hingeline.checks.results import ThrowResult
from hingeline.errors import LinkageBinds
from hingeline.rig.kinds import is_side
from hingeline.rig.surface import Surface
from hingeline.rig.targets import function_of
from hingeline.units import Side

UNINTENDED_PERCENT = 5.0
"""A differential further than this from the wanted one is reported: common practice, no source."""

_EVEN_PERCENT = 0.05
"""Throws that differ by less than this read alike: mm and degrees round differently."""


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

    It is `given` where the sheet gives it as such; two throws that differ are each reported separately.
    """

    mode: str
    function: str
    side: Side
    percent: float
    wanted_percent: float
    given: bool = False
    causes: tuple[str, ...] = ()

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
        throw = f"{self.side} {self.function}".rstrip() + f" ({self.mode})"
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
        rows: tuple[Repeatability | Differential, ...] = (*self.repeatability, *self.differential)
        return "\n".join(text for row in rows if (text := row.text()))


def summarise(
    readings: Sequence[ThrowResult],
    positions: Iterable[Position],
    linkage: Linkage | None,
    given: Collection[tuple[str, str]] = (),
) -> Summary:
    """Sum up the readings at the positions of one surface.

    Causes are candidates, found on the linkage as it is meant; mode and function of each differential are given that
    the sheet gives.
    """
    by_place: defaultdict[Key, list[float]] = defaultdict(list)
    by_target: defaultdict[Key, list[float]] = defaultdict(list)
    wanted: dict[Key, float] = {}
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
                key = key_of(at[side])
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


def last_readings(readings: Iterable[ThrowResult]) -> tuple[ThrowResult, ...]:
    """The last reading at each position in each cycle, in the order of the first: what was corrected counts as left."""
    return tuple({(each.mode, each.command, each.cycle): each for each in readings}.values())


def given_differentials(surface: Surface) -> set[tuple[str, str]]:
    """Mode and function of each differential that the sheet gives for a surface."""
    return {
        (mode, function_of(table))
        for table, mode, travel in surface.each_travel()
        if travel.differential_percent is not None
    }


def _differentials(
    means: Mapping[Key, float],
    wanted: Mapping[Key, float],
    linkage: Linkage | None,
    given: Collection[tuple[str, str]],
) -> Iterator[Differential]:
    for (mode, command, side), up_deg in means.items():
        function, _, direction = command.rpartition(" ")
        down = (mode, f"{function} down".strip(), side)
        if direction != "up" or down not in means or not up_deg:
            continue
        percent, wanted_percent = (
            100 * (1 - abs(by_key[down] / by_key[mode, command, side])) for by_key in (means, wanted)
        )
        differential = Differential(mode, function, side, percent, wanted_percent, (mode, function) in given)
        if differential.unintended and differential.even:
            differential = replace(differential, causes=_causes(linkage, up_deg, means[down]))
        yield differential


def _causes(linkage: Linkage | None, up_deg: float, down_deg: float) -> tuple[str, ...]:
    if linkage is None:
        return ()
    try:
        servo_deg = linkage.servo_deg((up_deg - down_deg) / 2)
    except LinkageBinds:
        return ()
    return tuple(cause.text() for cause in candidates(linkage, [(servo_deg, up_deg), (-servo_deg, down_deg)]))
