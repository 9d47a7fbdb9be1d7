"""The commands of the virtual bench: steps of a scenario, or lines of JSON."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, TypeAdapter, model_validator

from hingeline.rig.toml_models import TomlModel, key
from hingeline_protocol.messages import NAME_LIMIT

Name = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9 _-]*$", max_length=40)]
"""A name in a scenario: lower-case letters, digits, blanks, `-`, `_`."""

BoardName = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9_-]*$", max_length=NAME_LIMIT)]
"""A name that is also a file's, and the one that the board is given: without blanks."""

Vector = tuple[float, float, float]
"""One number each for x, y and z."""
ZERO: Vector = (0.0, 0.0, 0.0)

DAY_S = 86_400.0
"""No step is waited for longer."""

ALL = "all"
"""In place of a name: all of them."""

Face = Literal["+x", "-x", "+y", "-y", "+z", "-z"]
FaultKind = Literal["absent", "stuck", "held", "frozen", "zero", "nack", "reset", "identity", "deaf", "dirty", "block"]


class _Command(TomlModel):
    after_s: float | None = key(
        "begins so long after the former command began; default: once that has settled", default=None, ge=0, le=DAY_S
    )


class _WithSensors(_Command):
    sensor: Name | list[Name] = key("name of a sensor, a list of names, or `all`")


class Place(_WithSensors):
    """Lay carriers on the table."""

    do: Literal["place"]
    face: Face = key("the face that is up")
    yaw_deg: float = key("turn about the plumb line from where the face is first laid", default=0.0)
    incline_deg: float = key("turn about the carrier's x, as on a sine bar", default=0.0, ge=-90, le=90)


class Lean(_WithSensors):
    """Lean carriers against something."""

    do: Literal["lean"]
    up: Vector = key("the direction that is up, in the carrier's axes; any length")

    @model_validator(mode="after")
    def _has_direction(self) -> Lean:
        if not any(self.up):
            raise ValueError("up = [0, 0, 0] points nowhere; give the direction that is up, such as [1, 1, 1]")
        return self


class Hold(_WithSensors):
    """Keep carriers in a moving hand."""

    do: Literal["hold"]


class Tape(_WithSensors):
    """Tape carriers on a surface, arrow to the trailing edge."""

    do: Literal["tape"]
    surface: Name = key("name of the surface")
    upside_down: bool = key("the lid to the skin", default=False)
    yaw_deg: float | None = key("turn on the skin; default: the surface's `mounting_yaw_deg`", default=None)


class Knock(_WithSensors):
    """Knock carriers: they shake for a fifth of a second, and slip."""

    do: Literal["knock"]
    slip_deg: Vector = key("how far they are turned after it: rotation vector in the carrier's axes", default=ZERO)


class Deflect(_Command):
    """Move surfaces to an angle."""

    do: Literal["deflect"]
    surface: Name | list[Name] = key("name of a surface, a list of names, or `all`")
    deflection_deg: float = key("from neutral, trailing edge up positive", ge=-120, le=120)
    over_s: float | None = key("time it takes; default: as fast as `rate_deg_s` allows", default=None, gt=0, le=DAY_S)


class Stick(_Command):
    """Move every surface that has this position to it."""

    do: Literal["stick"]
    position: Name = key("a name in the `positions` of a surface, or `neutral`")
    over_s: float | None = key("time it takes; default: as fast as `rate_deg_s` allows", default=None, gt=0, le=DAY_S)


class Adjust(_Command):
    """Turn a clevis or set an end point; the surface follows."""

    do: Literal["adjust"]
    surface: Name = key("name of the surface")
    neutral_by_deg: float = key("change of its neutral", default=0.0, ge=-60, le=60)
    positions: dict[Name, float] = key("new deflection of named positions", default={})


class Push(_Command):
    """Push a trailing edge with a finger, or let go."""

    do: Literal["push"]
    surface: Name = key("name of the surface")
    toward: Literal["up", "down", "free"] = key("which way; `free` lets go")


class Attitude(_Command):
    """Turn the whole aircraft."""

    do: Literal["attitude"]
    roll_deg: float = key("left wing up positive", default=0.0)
    pitch_deg: float = key("nose up positive", default=0.0)
    heading_deg: float = key("counter-clockwise seen from above", default=0.0)


class Warm(_Command):
    """Change the temperature of the room, and slowly that of every chip."""

    do: Literal["warm"]
    ambient_c: float = key("the new temperature of the room", ge=-40, le=85)


class Fault(_WithSensors):
    """Give a chip a fault."""

    do: Literal["fault"]
    kind: FaultKind = key(
        "`absent` no acknowledge; `stuck` its bus hangs; `held` it hangs until nine clocks; "
        "`frozen` its data stop changing; `zero` its data are zeros; "
        "`nack` it breaks off its next transfer; `reset` its registers fall back; `dirty` another program has left its "
        "settings; `identity` its who-am-i is another chip's; `deaf` it keeps nothing that is written; "
        "`block` its next transfer never ends, and the program hangs"
    )


class Spoil(_WithSensors):
    """Add errors to a chip, from now on; those added before stay."""

    do: Literal["spoil"]
    bias_mg: Vector = key("added to the readings of x, y, z", default=ZERO)
    drift_mg_s: Vector = key("added to them each second", default=ZERO)
    scale_percent: Vector = key("how much more than before x, y, z read", default=ZERO)
    turn_deg: Vector = key("the module turns in its carrier: rotation vector", default=ZERO)


class Mend(_WithSensors):
    """Remove a chip's faults and all errors that were added."""

    do: Literal["mend"]


class _WithBoard(_Command):
    board: BoardName = key("name of the board")


class Unplug(_WithBoard):
    """Pull a board's cable."""

    do: Literal["unplug"]


class Plug(_WithBoard):
    """Plug a board in again: it starts again, at the same port."""

    do: Literal["plug"]


class Reset(_WithBoard):
    """Press a board's reset button: it starts again, its port stays."""

    do: Literal["reset"]


class Wait(_Command):
    """Let time pass."""

    do: Literal["wait"]
    for_s: float = key("scene time to wait", gt=0, le=DAY_S)


class Truth(_Command):
    """Report the state of the scene."""

    do: Literal["truth"]


# fmt: off
Command = Annotated[
    Place | Lean | Hold | Tape | Knock
    | Deflect | Stick | Adjust | Push | Attitude | Warm
    | Fault | Spoil | Mend
    | Unplug | Plug | Reset
    | Wait | Truth,
    Field(discriminator="do"),
]
# fmt: on

COMMAND: TypeAdapter[Command] = TypeAdapter(Command)
