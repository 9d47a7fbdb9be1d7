"""What can be done at the virtual bench: the same commands as steps of a scenario and as JSON lines."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, TypeAdapter, model_validator

from hingeline.rig.toml_models import TomlModel
from hingeline_protocol.messages import NAME_LIMIT

Name = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9 _-]*$", max_length=40)]
"""A name in a scenario: lower-case letters, digits, blanks, `-`, `_`."""

BoardName = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9_-]*$", max_length=NAME_LIMIT)]
"""A name that is also a file's, and the one that the board is given: without blanks."""

Vector = tuple[float, float, float]
"""One number each for x, y and z."""

ALL = "all"
"""In place of a name: every one there is."""

Face = Literal["+x", "-x", "+y", "-y", "+z", "-z"]
FaultKind = Literal["absent", "stuck", "frozen", "zero", "nack", "reset", "identity", "deaf", "block"]


class _Command(TomlModel):
    after_s: float | None = Field(
        default=None,
        ge=0,
        description="begins so long after the former command began; default: when that has settled",
    )


class _WithSensors(_Command):
    sensor: Name | list[Name] = Field(description="name of a sensor, a list of names, or `all`")


class Place(_WithSensors):
    """Lay carriers on the table."""

    do: Literal["place"]
    face: Face = Field(description="the face that is up")
    yaw_deg: float = Field(
        default=0.0, description="turn about the plumb line from where the face is first laid"
    )
    incline_deg: float = Field(
        default=0.0, ge=-90, le=90, description="turn about the carrier's x, as on a sine bar"
    )


class Lean(_WithSensors):
    """Lean carriers against something."""

    do: Literal["lean"]
    up: Vector = Field(description="the direction that is up, in the carrier's axes; any length")

    @model_validator(mode="after")
    def _has_direction(self) -> Lean:
        if not any(self.up):
            raise ValueError(
                "up = [0, 0, 0] points nowhere; give the direction that is up, such as [1, 1, 1]"
            )
        return self


class Hold(_WithSensors):
    """Keep carriers in a moving hand."""

    do: Literal["hold"]


class Tape(_WithSensors):
    """Tape carriers on a surface, arrow to the trailing edge."""

    do: Literal["tape"]
    surface: Name = Field(description="name of the surface")
    upside_down: bool = Field(default=False, description="the lid to the skin")
    yaw_deg: float | None = Field(
        default=None, description="turn on the skin; default: the surface's `mounting_yaw_deg`"
    )


class Knock(_WithSensors):
    """Knock carriers: they shake for a fifth of a second, and slip."""

    do: Literal["knock"]
    slip_deg: Vector = Field(
        default=(0.0, 0.0, 0.0),
        description="how they end up turned from where they were: rotation vector in the carrier's axes",
    )


class Deflect(_Command):
    """Move surfaces to an angle."""

    do: Literal["deflect"]
    surface: Name | list[Name] = Field(description="name of a surface, a list of names, or `all`")
    deflection_deg: float = Field(ge=-120, le=120, description="from neutral, trailing edge up positive")
    over_s: float | None = Field(
        default=None, gt=0, description="time it takes; default: as fast as `rate_deg_s` allows"
    )


class Stick(_Command):
    """Move every surface that has this position to it."""

    do: Literal["stick"]
    position: Name = Field(description="a name in the `positions` of a surface, or `neutral`")
    over_s: float | None = Field(
        default=None, gt=0, description="time it takes; default: as fast as `rate_deg_s` allows"
    )


class Adjust(_Command):
    """Turn a clevis or set an end point; the surface follows."""

    do: Literal["adjust"]
    surface: Name = Field(description="name of the surface")
    neutral_by_deg: float = Field(default=0.0, ge=-60, le=60, description="change of its neutral")
    positions: dict[Name, float] = Field(
        default_factory=dict, description="new deflection of named positions"
    )


class Push(_Command):
    """Push a trailing edge with a finger, or let go."""

    do: Literal["push"]
    surface: Name = Field(description="name of the surface")
    toward: Literal["up", "down", "free"] = Field(description="which way; `free` lets go")


class Attitude(_Command):
    """Turn the whole aircraft."""

    do: Literal["attitude"]
    roll_deg: float = Field(default=0.0, description="left wing up positive")
    pitch_deg: float = Field(default=0.0, description="nose up positive")
    heading_deg: float = Field(default=0.0, description="counter-clockwise seen from above")


class Warm(_Command):
    """Let the room, and with it every chip, go to another temperature."""

    do: Literal["warm"]
    ambient_c: float = Field(ge=-40, le=85, description="the new temperature of the room")


class Fault(_WithSensors):
    """Give a chip a fault."""

    do: Literal["fault"]
    kind: FaultKind = Field(
        description="`absent` no acknowledge; `stuck` its bus hangs; `frozen` its data stand still; `zero` its "
        "data read as zeros; `nack` it breaks off its next transfer; `reset` its registers fall back; `identity` it "
        "says it is another; `deaf` it keeps nothing that is written to it; `block` its next transfer never ends, and "
        "the board's program hangs in it"
    )


class Spoil(_WithSensors):
    """Change what is true of a chip, from now on; what was changed before stays."""

    do: Literal["spoil"]
    bias_mg: Vector = Field(default=(0.0, 0.0, 0.0), description="added to what x, y, z show")
    drift_mg_s: Vector = Field(default=(0.0, 0.0, 0.0), description="added to that each second")
    scale_percent: Vector = Field(
        default=(0.0, 0.0, 0.0), description="how much more x, y, z read than before"
    )
    turn_deg: Vector = Field(
        default=(0.0, 0.0, 0.0), description="the module turns in its carrier: rotation vector"
    )


class Mend(_WithSensors):
    """Take a chip's faults away, and all that spoiled it."""

    do: Literal["mend"]


class _WithBoard(_Command):
    board: BoardName = Field(description="name of the board")


class Unplug(_WithBoard):
    """Pull a board's cable."""

    do: Literal["unplug"]


class Plug(_WithBoard):
    """Plug a board in again: it starts anew, on the same port."""

    do: Literal["plug"]


class Reset(_WithBoard):
    """Press a board's reset button: it starts anew, its port stays."""

    do: Literal["reset"]


class Wait(_Command):
    """Let time pass."""

    do: Literal["wait"]
    for_s: float = Field(gt=0, description="scene time to wait")


class Truth(_Command):
    """Tell how things are."""

    do: Literal["truth"]


Command = Annotated[
    Place
    | Lean
    | Hold
    | Tape
    | Knock
    | Deflect
    | Stick
    | Adjust
    | Push
    | Attitude
    | Warm
    | Fault
    | Spoil
    | Mend
    | Unplug
    | Plug
    | Reset
    | Wait
    | Truth,
    Field(discriminator="do"),
]

COMMAND: TypeAdapter[Command] = TypeAdapter(Command)
