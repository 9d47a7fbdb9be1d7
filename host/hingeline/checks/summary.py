"""What several throws say together: how well they repeat, and how much less a surface goes down than up."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from statistics import fmean
from typing import Any

from hingeline.advice.linkage import Linkage
from hingeline.advice.prediction import candidates
from hingeline.checks.positions import NEUTRAL
from hingeline.checks.throws import ThrowReading
from hingeline.errors import LinkageBinds
from hingeline.rig.kinds import Side

UNINTENDED_PERCENT = 5.0
"""More differential than this beyond what is wanted is told: common practice, no source."""


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
        """Return it in words."""
        return (
            f"{self.side} {self.command} ({self.mode}): {self.mean_deg:+.2f}° over {self.cycles} cycles, "
            f"spread {self.spread_deg:.2f}°"
        )


@dataclass(frozen=True)
class Differential:
    """By how much the throw down falls short of the throw up, beside what the sheet wants."""

    mode: str
    function: str
    side: Side
    percent: float
    wanted_percent: float
    causes: tuple[str, ...] = field(default=())

    @property
    def unintended(self) -> bool:
        """Whether it is further from what is wanted than `UNINTENDED_PERCENT`."""
        return abs(self.percent - self.wanted_percent) > UNINTENDED_PERCENT

    def text(self) -> str:
        """Return it in words."""
        what = " ".join(word for word in (self.side, self.function) if word)
        words = f"{what} ({self.mode}): differential {self.percent:.0f} %, wanted {self.wanted_percent:.0f} %"
        return "; ".join((words, *(f"at equal end points {cause}" for cause in self.causes)))


@dataclass(frozen=True)
class Summary:
    """Both, of one surface."""

    repeatability: tuple[Repeatability, ...]
    differential: tuple[Differential, ...]

    def text(self) -> str:
        """Return it in words, a line each; of one cycle, no repeatability."""
        rows = [one.text() for one in self.repeatability] + [one.text() for one in self.differential]
        return "\n".join(rows)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return asdict(self)


def summarise(readings: Sequence[ThrowReading], linkage: Linkage | None) -> Summary:
    """Return what the readings of one surface say together; causes are candidates, found on the linkage as meant."""
    by_place: defaultdict[tuple[str, str, Side], list[float]] = defaultdict(list)
    by_target: defaultdict[tuple[str, str, Side], list[float]] = defaultdict(list)
    wanted: dict[tuple[str, str, Side], float] = {}
    for reading in readings:
        position = reading.position
        for side, angle in reading.angles.items():
            if position.command == NEUTRAL or side in position.targets:
                by_place[position.mode, position.command, side].append(angle.deflection_deg)
        for side, target in position.targets.items():
            key = (position.mode, target.command, side)
            by_target[key].append(reading.angles[side].deflection_deg)
            wanted[key] = target.deflection_deg
    means = {key: fmean(values) for key, values in by_target.items()}
    return Summary(
        tuple(
            Repeatability(*key, len(values), fmean(values), max(values) - min(values))
            for key, values in by_place.items()
            if len(values) > 1
        ),
        tuple(_differentials(means, wanted, linkage)),
    )


def _differentials(
    means: dict[tuple[str, str, Side], float],
    wanted: dict[tuple[str, str, Side], float],
    linkage: Linkage | None,
) -> list[Differential]:
    found = []
    for (mode, command, side), up_deg in means.items():
        function, _, direction = command.rpartition(" ")
        down = (mode, f"{function} down".strip(), side)
        if direction != "up" or down not in means or not up_deg:
            continue
        intended = _percent(wanted[mode, command, side], wanted[down])
        one = Differential(mode, function, side, _percent(up_deg, means[down]), intended)
        causes = _causes(linkage, up_deg, means[down]) if one.unintended and not intended else ()
        found.append(Differential(mode, function, side, one.percent, intended, causes))
    return found


def _percent(up_deg: float, down_deg: float) -> float:
    return 100 * (1 - abs(down_deg / up_deg))


def _causes(linkage: Linkage | None, up_deg: float, down_deg: float) -> tuple[str, ...]:
    if linkage is None:
        return ()
    try:
        servo_deg = linkage.servo_deg((up_deg - down_deg) / 2)
    except LinkageBinds:
        return ()
    return tuple(one.text() for one in candidates(linkage, [(servo_deg, up_deg), (-servo_deg, down_deg)]))
