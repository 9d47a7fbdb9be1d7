"""The scenario of a virtual bench: the true values behind all that its sensors measure. docs/scenario.md lists them."""

from __future__ import annotations

from typing import Annotated
from zlib import crc32

from pydantic import AfterValidator, StringConstraints, model_validator
from pydantic_core import PydanticCustomError

from hingeline.rig.toml_mistakes import one_of
from hingeline.rig.toml_models import TomlModel, key
from hingeline.units import Side
from hingeline_virtual.chips import CHIPS
from hingeline_virtual.commands import ZERO, BoardName, Command, Face, Name, Vector


def _check_chip(name: str) -> str:
    if name not in CHIPS:
        known = ", ".join(repr(chip) for chip in CHIPS)
        raise PydanticCustomError("chip", "{known}", {"known": one_of(CHIPS.keys()), "expected": known})
    return name


ChipName = Annotated[str, AfterValidator(_check_chip)]


class Table(TomlModel):
    """The table on which carriers are placed."""

    tilt_deg: float = key("angle between the table and level", default=0.0, ge=0, le=20)
    direction_deg: float = key("direction in which it falls: from X, counter-clockwise seen from above", default=0.0)


class Hands(TomlModel):
    """The hands that place and tape carriers: how fast and how well."""

    transit_s: float = key("time from one pose to the next", default=0.4, ge=0.1, le=10)
    placement_scatter_deg: float = key("standard deviation of a placement's tilt, each way", default=0.0, ge=0, le=5)
    yaw_scatter_deg: float = key("standard deviation of a placement's yaw", default=0.0, ge=0, le=20)
    tape_scatter_deg: float = key(
        "standard deviation of a taped carrier's attitude, each axis", default=0.0, ge=0, le=5
    )


class Room(TomlModel):
    """The air: the chips take on its temperature."""

    ambient_c: float = key("temperature at the start", default=22.0, ge=-40, le=85)
    warming_s: float = key("time constant with which a chip takes on the temperature", default=120.0, gt=0)


class Sensor(TomlModel):
    """One accelerometer and the carrier it is fixed in."""

    name: Name = key("its name in commands")
    chip: ChipName = key("kind of chip")
    bus: int = key(
        "number of its I2C bus, from 2 on of its SPI bus; default: the chip's usual one", default=0, ge=0, le=3
    )
    address: int = key("its I2C address; default: the chip's usual one", default=0, ge=0, le=119)
    identity: int | None = key("its who-am-i; given for a clone", default=None, ge=0, le=255)
    bias_mg: Vector = key("reading of x, y, z at 0 g and 25 °C", default=ZERO)
    scale_percent: Vector = key("how much too large x, y, z read", default=ZERO)
    cross_axis_percent: tuple[float, float, float, float, float, float] = key(
        "share of y in x, z in x, x in y, z in y, x in z, y in z", default=ZERO + ZERO
    )
    chip_turn_deg: Vector = key("how the chip sits in its carrier: rotation vector in the carrier's axes", default=ZERO)
    noise_ug: Vector | None = key("noise density of x, y, z in µg/√Hz; default: the chip's datasheet", default=None)
    clock_percent: float = key(
        "how much too fast its own clock runs, and with it its samples", default=0.0, ge=-20, le=20
    )
    tempco_mg_c: Vector = key("change of the bias of x, y, z in mg/°C", default=ZERO)
    self_heating_c: float = key("how much warmer than the room it becomes in use", default=0.0, ge=0, le=20)
    square_deg: dict[Face, tuple[float, float]] = key(
        "for a face that is up on level ground: lean of the plumb line from the face's axis "
        "toward the two next axes (x to y to z to x)",
        default={},
    )

    @model_validator(mode="before")
    @classmethod
    def _usual_address(cls, data: object) -> object:
        if isinstance(data, dict) and "address" not in data and str(data.get("chip")) in CHIPS:
            model = CHIPS[data["chip"]]
            return {"bus": model.BUS, **data, "address": model.ADDRESS}
        return data


class Board(TomlModel):
    """A microcontroller board."""

    name: BoardName = key("its name in commands, at its port and in its configuration")
    pins: Name = key("name of its pin map in the firmware", default="pico")
    uid: Annotated[str, StringConstraints(pattern=r"^([0-9a-f]{2}){1,16}$")] = key(
        "its unique id in hex; default: made from its name", default="00"
    )
    first_ticks_us: int = key("its microsecond counter at power-on, which wraps at 2**30", default=0, ge=0, lt=1 << 30)
    watchdog: bool = key("its configuration asks for the watchdog", default=False)
    sensors: list[Sensor] = key("its sensors", min_length=1, max_length=4)

    @model_validator(mode="before")
    @classmethod
    def _own_uid(cls, data: object) -> object:
        if isinstance(data, dict) and "uid" not in data:
            return {**data, "uid": f"e661{crc32(str(data.get('name')).encode()):08x}"}
        return data


class Surface(TomlModel):
    """A control surface, or a fixed part if nothing moves it."""

    name: Name = key("its name in commands")
    side: Side = key("as seen from behind")
    dihedral_deg: float = key("how far its hinge line rises toward the tip", default=0.0, ge=-90, le=90)
    sweep_deg: float = key("how far its hinge line runs aft toward the tip", default=0.0, ge=-60, le=60)
    skin_slope_deg: float = key(
        "turn of the skin about the hinge line where the sensor sits; falling aft is negative",
        default=0.0,
        ge=-60,
        le=60,
    )
    skin_taper_deg: float = key("turn of the skin about its y where the sensor sits", default=0.0, ge=-30, le=30)
    mounting_yaw_deg: float = key("angle between the carrier's edge and the hinge line", default=0.0, ge=-90, le=90)
    sensor_aft_mm: float = key("hinge axis to sensor", default=15.0, ge=0)
    neutral_deg: float = key("its angle at neutral: the neutral error", default=0.0, ge=-60, le=60)
    positions: dict[Name, float] = key("deflection from neutral at named stick positions", default={})
    play_deg: float = key(
        "free play, from end to end; when it reverses, it stands until the play is taken up",
        default=0.0,
        ge=0,
        le=20,
    )
    compliance_deg: float = key("how far a finger bends it beyond the play", default=0.0, ge=0, le=20)
    rate_deg_s: float = key("how fast its servo turns it", default=300.0, gt=0)
    ringing_hz: float = key("frequency at which it rings when it stops", default=8.0, gt=0, le=50)
    damping: float = key("damping ratio of that ringing", default=0.4, gt=0, lt=1)


class Scenario(TomlModel):
    """A whole scenario."""

    seed: int = key("seed of every random number", default=1, ge=0)
    speed: float = key("scene seconds in a second; 0: as fast as boards and host can", default=1.0, ge=0, le=1000)
    table: Table = key("what carriers are placed on", default=Table())
    hands: Hands = key("the hands that place them", default=Hands())
    room: Room = key("the air in which they warm up", default=Room())
    boards: list[Board] = key("the boards that are plugged in", min_length=1)
    surfaces: list[Surface] = key("the surfaces of the aircraft", default=[])
    steps: list[Command] = key("commands, carried out in their order", default=[])

    @property
    def sensors(self) -> dict[str, Sensor]:
        """Every sensor by its name."""
        return {sensor.name: sensor for board in self.boards for sensor in board.sensors}
