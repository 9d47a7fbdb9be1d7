"""The kinds of surface: the sides each has, and what its throws are called."""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeGuard

from hingeline.units import Side

KindName = Literal["aileron", "elevator", "rudder", "flap", "flaperon", "elevon", "v-tail", "spoiler", "airbrake"]

BOTH: tuple[Side, ...] = ("left", "right")
ONE_PIECE: tuple[Side, ...] = ("middle",)


def is_side(name: str) -> TypeGuard[Side]:
    """Whether a name is that of a side."""
    return name in (*BOTH, *ONE_PIECE)


class Kind(NamedTuple):
    """The defaults of a kind of surface, where the sheet gives nothing else."""

    sides: tuple[Side, ...] = BOTH
    tables: tuple[str, ...] = ("throws",)
    """The keys of its tables of throws."""
    directions: tuple[str, str] = ("up", "down")
    """The two ways it goes, the positive one first."""
    dihedral_deg: float = 0.0
    """Angle of its hinge above the horizontal."""


KINDS: dict[str, Kind] = {
    "aileron": Kind(),
    "elevator": Kind(sides=ONE_PIECE),
    "rudder": Kind(sides=ONE_PIECE, directions=("left", "right"), dihedral_deg=90.0),
    "flap": Kind(),
    "flaperon": Kind(tables=("as_aileron", "as_flap")),
    "elevon": Kind(tables=("as_elevator", "as_aileron")),
    "v-tail": Kind(tables=("as_elevator", "as_rudder")),
    "spoiler": Kind(),
    "airbrake": Kind(),
}
