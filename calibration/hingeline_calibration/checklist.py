"""The guided procedure: which rests are wanted, which are done, and what each further one would buy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.budget import Budget
from hingeline_calibration.errors import CalibrationError, MissingDirections, RepeatedPlacement
from hingeline_calibration.estimator import solve
from hingeline_calibration.hinge import error_of_turn
from hingeline_calibration.placements import (
    FACES,
    Rest,
    check_axes,
    check_distinct,
    check_window,
    face_up,
    recognise,
)
from hingeline_calibration.priors import Priors
from hingeline_calibration.still import Window

_TELLING_TURN_DEG = 45.0
"""What a rest buys is told for a deflection from level by this much."""
_TURNS = {0.0: "", 90.0: "a quarter turn", 180.0: "end for end", 270.0: "three quarters of a turn"}


@dataclass(frozen=True)
class Placement:
    """A rest that a procedure wants.

    Attributes
    ----------
    face, yaw_deg
        Face up and its yaw; both None for a leaned rest.
    between
        The two faces between which a leaned rest is propped. Both opposite faces tell the same.
    """

    face: str | None
    yaw_deg: float | None
    between: tuple[str, str] | None = None

    @property
    def name(self) -> str:
        """Short words."""
        if self.between is not None:
            return f"leaned between {self.between[0]} and {self.between[1]}"
        return f"{self.face} at {self.yaw_deg:g}°"

    @property
    def instruction(self) -> str:
        """What to do, as a sentence part."""
        if self.between is not None:
            return (
                f"prop it between {self.between[0]} up and {self.between[1]} up, at any slope from 30 to 60°"
            )
        turned = _TURNS.get(self.yaw_deg or 0.0, f"by {self.yaw_deg:g}°")
        return f"lay it with {self.face} up" + (f" on its spot, but turned {turned}" if turned else "")

    @property
    def up(self) -> Array:
        """(3,) nominal up direction, carrier frame."""
        if self.between is None:
            return face_up(self.face or "")
        return np.asarray((face_up(self.between[0]) + face_up(self.between[1])) / np.sqrt(2))


def _faces(*yaws_deg: float) -> tuple[Placement, ...]:
    return tuple(Placement(face, yaw) for face in FACES for yaw in yaws_deg)


LEANED = tuple(
    Placement(None, None, between)
    for between in (("+x", "+y"), ("-x", "+y"), ("+x", "+z"), ("-x", "+z"), ("+y", "+z"), ("-y", "+z"))
)
"""Six leaned rests that together tell the shear of every pair of axes."""
PROCEDURES = {
    "6": _faces(0),
    "12": _faces(0, 180),
    "24": _faces(0, 90, 180, 270),
    "12+6": (*_faces(0, 180), *LEANED),
}
"""Sets of rests by name; ``12+6`` is the one recommended."""


@dataclass(frozen=True, eq=False)
class Checklist:
    """What is done and what is missing for one sensor; each rest taken gives a new checklist.

    Attributes
    ----------
    wanted
        All rests of the procedure.
    counts_per_g
        Nominal sensitivity of the sensor.
    priors
        Of table and carrier.
    rests
        Taken, in order.
    """

    wanted: tuple[Placement, ...]
    counts_per_g: float
    priors: Priors = field(default_factory=Priors)
    rests: tuple[Rest, ...] = ()
    done: tuple[Placement, ...] = ()

    @property
    def missing(self) -> tuple[Placement, ...]:
        """Rests still wanted, in the order of the procedure."""
        return tuple(placement for placement in self.wanted if placement not in self.done)

    def recognise(self, window: Window) -> Placement:
        """The wanted placement that a window shows: its face, and the next yaw that is missing of it.

        The yaw can't be seen on a level table; it is the next step of the procedure.

        Raises
        ------
        UnusableWindow
            See `placements.check_window` and `placements.recognise`.
        RepeatedPlacement
            Nothing is missing of that face, or near that lean.
        """
        check_window(window, self.counts_per_g)
        check_axes((*(rest.window for rest in self.rests), window), self.counts_per_g)
        face = recognise(window, self.counts_per_g)
        of_kind = [placement for placement in self.wanted if placement.face == face]
        if face is None and of_kind:
            up = window.mean_counts / np.linalg.norm(window.mean_counts)
            of_kind = [max(of_kind, key=lambda placement: abs(float(placement.up @ up)))]
        for placement in of_kind:
            if placement not in self.done:
                return placement
        seen = f"{face} up" if face else of_kind[0].name if of_kind else "leaned"
        raise RepeatedPlacement(
            f"{seen}: all rests of this kind are done"
            if of_kind
            else f"{seen}: not a rest of this procedure",
            f"Next: {self.missing[0].instruction}" if self.missing else "All rests are done",
        )

    def take(self, window: Window) -> Checklist:
        """The checklist with one more rest.

        Raises
        ------
        UnusableWindow, RepeatedPlacement
            See `recognise`; also a sensor that was not moved since the last rest.
        """
        placement = self.recognise(window)
        rest = Rest(window, placement.face, placement.yaw_deg)
        rests = (*self.rests, rest)
        check_distinct(rests)
        return replace(self, rests=rests, done=(*self.done, placement))

    def expected_deg(self, further: Sequence[Placement] = ()) -> float:
        """Standard deviation, by the calibration alone, of a deflection by 45° from level, with further rests.

        Infinite as long as the rests leave the calibration open.
        """
        return _expected_deg((*self.done, *further), self._typical_window(), self.counts_per_g, self.priors)

    def worth(self) -> tuple[tuple[Placement, float, float], ...]:
        """Each rest that may come next, with `expected_deg` before and after it: of a face that is its next yaw."""
        before = self.expected_deg()
        by_kind = {placement.face or placement.between: placement for placement in reversed(self.missing)}
        following = [placement for placement in self.missing if placement in by_kind.values()]
        return tuple((placement, before, self.expected_deg((placement,))) for placement in following)

    def _typical_window(self) -> Window:
        if not self.rests:
            raise CalibrationError("no rest yet, expected one whose noise is known", "Take the first rest")
        return self.rests[-1].window


def _expected_deg(
    placements: Sequence[Placement], like: Window, counts_per_g: float, priors: Priors
) -> float:
    rests = [
        Rest(replace(like, mean_counts=placement.up * counts_per_g), placement.face, placement.yaw_deg)
        for placement in placements
    ]
    try:
        found = solve(rests, counts_per_g, priors)
    except MissingDirections:
        return float("inf")
    level, turned = face_up("+z"), _turned(_TELLING_TURN_DEG)
    slope = error_of_turn(np.array([1.0, 0.0, 0.0]), level, turned, np.eye(3) / counts_per_g)
    return float(
        np.degrees(
            Budget.of((n, np.sqrt(slope @ p @ slope)) for n, p in found.parts.items()).standard_uncertainty
        )
    )


def _turned(angle_deg: float) -> Array:
    angle = np.radians(angle_deg)
    return np.array([0.0, np.sin(angle), np.cos(angle)])
