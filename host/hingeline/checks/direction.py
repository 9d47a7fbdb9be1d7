"""Direction: which way each surface goes when a stick is moved. It does not replace the pilot's check."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from hingeline.checks.results import DirectionResult, SideDirection
from hingeline.rig.kinds import KindName
from hingeline.rig.surface import Surface
from hingeline.units import Side
from hingeline_calibration.hinge import Deflection

MOVED_DEG = 2.0
"""A surface that went less far has not moved."""
SWAPPED = "left and right sensor are swapped: `hingeline wiggle` tells which is which"
STANDS = "its plug, its clevis or its channel"
WRONG_WAY = ("the arrow of its carrier points forward", "its servo is to be reversed in the transmitter")


@dataclass(frozen=True)
class Command:
    """What the pilot does, what is called out from behind, and which way each side goes: 1 trailing edge up."""

    stick: str
    call: str
    signs: Mapping[Side, int]


_OUT: Mapping[Side, int] = {"left": 1, "right": 1, "middle": 1}
_AILERON = Command("Stick right", "right: right aileron up", {"left": -1, "right": 1})
_ELEVATOR = Command("Stick back", "back: elevator up", {"left": 1, "right": 1, "middle": 1})
_FLAP = Command("Flaps down", "flaps: both down", {"left": -1, "right": -1, "middle": -1})

COMMANDS: Mapping[KindName, tuple[Command, ...]] = {
    "aileron": (_AILERON,),
    "elevator": (_ELEVATOR,),
    # of a rudder, left is positive: the model lies on its right side
    "rudder": (Command("Rudder right", "right: rudder right", {"left": -1, "right": -1, "middle": -1}),),
    "flap": (_FLAP,),
    "flaperon": (_AILERON, _FLAP),
    "elevon": (_ELEVATOR, _AILERON),
    "v-tail": (
        _ELEVATOR,
        # both go right: the right one, which leans out to the right, by going down
        Command("Rudder right", "right: both trailing edges right", {"left": 1, "right": -1}),
    ),
    "spoiler": (Command("Spoilers out", "spoilers: both up", _OUT),),
    "airbrake": (Command("Airbrakes out", "airbrakes: both up", _OUT),),
}


def commands(surface: Surface) -> tuple[Command, ...]:
    """The commands of a surface. An inverted V-tail answers its rudder the other way."""
    of_kind = COMMANDS[surface.kind]
    if surface.kind == "v-tail" and surface.dihedral_deg < 0:
        elevator, rudder = of_kind
        turned: dict[Side, int] = {side: -sign for side, sign in rudder.signs.items()}
        return elevator, Command(rudder.stick, rudder.call, turned)
    return of_kind


def is_away(deflections: Mapping[Side, Deflection]) -> bool:
    """Whether any side is away from neutral."""
    return any(abs(angle.deflection_deg) > MOVED_DEG for angle in deflections.values())


def judge_direction(surface: str, command: Command, deflections: Mapping[Side, Deflection]) -> DirectionResult:
    """Judge the deflections of a reading at a command."""
    sides = {side: _judge_side(angle.deflection_deg, command.signs[side]) for side, angle in deflections.items()}
    inside = all(side.right_way for side in sides.values())
    return DirectionResult(surface, command.stick, sides, command.call, tuple(_candidates(sides)), inside)


def _candidates(sides: Mapping[Side, SideDirection]) -> Iterator[str]:
    """Yield likely causes, side by side; swapped sensors first, where both sides went opposed, the wrong way round."""
    expected, went = ({getattr(side, name) for side in sides.values()} for name in ("expected", "went"))
    if expected == went == {"up", "down"} and not any(side.right_way for side in sides.values()):
        yield SWAPPED
    for name, side in sides.items():
        if not side.right_way:
            yield from (f"{name}: {cause}" for cause in ((STANDS,) if side.went == "nowhere" else WRONG_WAY))


def _judge_side(deg: float, sign: int) -> SideDirection:
    words = {1: "up", -1: "down"}
    went = words[1 if deg > 0 else -1] if abs(deg) > MOVED_DEG else "nowhere"
    return SideDirection(deg, went, words[sign], went == words[sign])
