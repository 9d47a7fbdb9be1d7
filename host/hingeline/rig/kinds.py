"""The kinds of surface and what each is moved as."""

from __future__ import annotations

from typing import Literal, NamedTuple

KindName = Literal[
    "aileron", "elevator", "rudder", "flap", "flaperon", "elevon", "v-tail", "spoiler", "airbrake"
]
Side = Literal["left", "right", "middle"]

BOTH: tuple[Side, ...] = ("left", "right")
ONE_PIECE: tuple[Side, ...] = ("middle",)


class Kind(NamedTuple):
    """What holds for a kind of surface where a sheet says nothing else.

    Attributes
    ----------
    sides
        The parts it has.
    tables
        The tables of throws that fit it: what its throws are called, and the table's key.
    directions
        The two ways it goes, the positive one first.
    dihedral_deg
        How far its hinge is raised.
    """

    sides: tuple[Side, ...] = BOTH
    tables: tuple[str, ...] = ("throws",)
    directions: tuple[str, str] = ("up", "down")
    dihedral_deg: float = 0.0


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
