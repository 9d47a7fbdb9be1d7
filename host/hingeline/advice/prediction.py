"""What a linkage will do: its throws, the holes that suit a wanted throw, what may explain an uneven one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import sqrt
from statistics import fmean

from hingeline.advice.linkage import Linkage
from hingeline.errors import LinkageBinds
from hingeline.units import amount

SERVO_DEG_PER_US = 0.09
"""How far a servo turns for 1 µs of pulse width; common practice, 0.09 to 0.1."""

_GRID = 60  # steps either way over a cause's range before the best one is refined
_BINDS_DEG = 180.0  # the miss of a linkage that can't make a reading at all


@dataclass(frozen=True)
class Throws:
    """The signed throws of a linkage for equal servo angles, and how far 1 µs of pulse width moves it at neutral."""

    up_deg: float
    down_deg: float
    resolution_deg_per_us: float

    @property
    def differential_percent(self) -> float:
        """By how much the smaller throw falls short of the larger; positive where down is the smaller."""
        up_deg, down_deg = abs(self.up_deg), abs(self.down_deg)
        short = 1 - min(up_deg, down_deg) / max(up_deg, down_deg)
        return 100 * (short if up_deg >= down_deg else -short)

    def text(self) -> str:
        """The prediction in words."""
        percent = round(self.differential_percent)
        uneven = f"{abs(percent)} % less {'down' if percent > 0 else 'up'}" if percent else "even"
        return (
            f"up {amount(self.up_deg)}, down {amount(self.down_deg)} ({uneven}), "
            f"{self.resolution_deg_per_us:.3f}° per µs"
        )


@dataclass(frozen=True)
class Holes:
    """A hole of the arm with a hole of the horn, and the servo angles that the wanted throw takes there."""

    arm_mm: float
    horn_mm: float
    servo_up_deg: float
    servo_down_deg: float
    travel_used_percent: float
    resolution_deg_per_us: float

    def text(self) -> str:
        """The choice in words."""
        return (
            f"arm hole {self.arm_mm:g} mm with horn hole {self.horn_mm:g} mm: "
            f"uses {self.travel_used_percent:.0f} % of the servo's travel, "
            f"{self.resolution_deg_per_us:.3f}° per µs"
        )


@dataclass(frozen=True)
class Candidate:
    """One thing that may be off in a linkage, a key of `CAUSES`, with the amount that fits the readings best.

    The amount is ° or mm, negative is ahead. It leaves a root mean square over the readings unexplained.
    """

    cause: str
    aft: float
    residual_deg: float

    def text(self) -> str:
        """The candidate in words; it is no verdict."""
        _, wording = CAUSES[self.cause]
        fault = wording.format(size=abs(self.aft), where="aft" if self.aft >= 0 else "ahead")
        return f"perhaps the {fault} ({amount(self.residual_deg)} stays unexplained)"


CAUSES: dict[str, tuple[Callable[[Linkage, float], Linkage], str]] = {
    "arm": (Linkage.leaning_aft, "servo arm leans {size:.0f}° off square, {where}"),
    "hole": (Linkage.hole_aft, "horn hole is {size:.1f} mm {where} of the hinge axis"),
}
"""What makes throws uneven at equal servo angles: how a linkage is given the fault, and its wording."""
_LEAN_DEG = 30.0  # two spline teeth: so far a lean of the arm is sought


def predict(linkage: Linkage, servo_travel_deg: float) -> Throws:
    """The throws for a servo that travels that far both ways."""
    ends_deg = [linkage.deflection_deg(sign * servo_travel_deg) for sign in (1, -1)]
    return Throws(max(ends_deg), min(ends_deg), abs(linkage.ratio(0.0)) * SERVO_DEG_PER_US)


def best_holes(
    linkage: Linkage,
    arm_holes_mm: Iterable[float],
    horn_holes_mm: Iterable[float],
    *,
    up_deg: float,
    down_deg: float,
    servo_travel_deg: float,
) -> tuple[Holes, ...]:
    """The pairs of holes that reach the wanted throw, the best first.

    The best uses most of the servo's travel, to a whole per cent; of equals, the longer horn, because play at
    its pin turns the surface least. Arm and horn keep their directions, the rod is adjusted to each pair. A pair that
    needs more than the servo's travel either way, or that binds, is left out. A throw down is negative.
    """
    fitting = []
    for arm_mm, horn_mm in product(arm_holes_mm, horn_holes_mm):
        tried = replace(linkage, arm_mm=arm_mm, horn_mm=horn_mm).at_neutral()
        try:
            servo_up_deg, servo_down_deg = tried.servo_deg(up_deg), tried.servo_deg(down_deg)
        except LinkageBinds:
            continue
        used = max(abs(servo_up_deg), abs(servo_down_deg)) / servo_travel_deg
        if used <= 1:
            resolution = abs(tried.ratio(0.0)) * SERVO_DEG_PER_US
            fitting.append(Holes(arm_mm, horn_mm, servo_up_deg, servo_down_deg, 100 * used, resolution))
    return tuple(sorted(fitting, key=lambda holes: (-round(holes.travel_used_percent), -holes.horn_mm)))


def candidates(linkage: Linkage, readings: Sequence[tuple[float, float]]) -> tuple[Candidate, ...]:
    """What may be off in a linkage whose throws came out uneven, the best fit first; only what explains something.

    The linkage is as it was meant to be, the readings are pairs of servo angle and deflection, in degrees from neutral.
    Each cause is tried alone. Two readings may be met by several causes; more of them, at half stick for instance,
    tell them apart. The angles are the servo's own: unequal end points are for the caller to allow for.
    """
    meant_deg = _miss_deg(linkage, readings)
    fitted = [_fit(name, linkage, readings) for name in CAUSES]
    return tuple(sorted((c for c in fitted if c.residual_deg < meant_deg), key=lambda c: c.residual_deg))


def _fit(name: str, linkage: Linkage, readings: Sequence[tuple[float, float]]) -> Candidate:
    apply, _ = CAUSES[name]

    def miss_deg(aft: float) -> float:
        return _miss_deg(apply(linkage, aft), readings)

    step = {"arm": _LEAN_DEG, "hole": linkage.horn_mm / 2}[name] / _GRID
    coarse = step * min(range(-_GRID, _GRID + 1), key=lambda index: miss_deg(index * step))
    from scipy.optimize import minimize_scalar  # takes a fifth of a second to import, and few need it

    fine = minimize_scalar(miss_deg, bounds=(coarse - step, coarse + step), method="bounded", options={"xatol": 1e-6})
    return Candidate(name, float(fine.x), float(fine.fun))


def _miss_deg(linkage: Linkage, readings: Sequence[tuple[float, float]]) -> float:
    try:
        return sqrt(fmean((linkage.deflection_deg(servo_deg) - deg) ** 2 for servo_deg, deg in readings))
    except LinkageBinds:
        return _BINDS_DEG
