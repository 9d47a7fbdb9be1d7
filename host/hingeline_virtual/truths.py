"""Every truth behind what the virtual boards say, as a scenario file has it. docs/scenario.md is its reference."""

from __future__ import annotations

from typing import Annotated, Literal
from zlib import crc32

from pydantic import Field, StringConstraints, model_validator

from hingeline.rig.toml_models import TomlModel
from hingeline.units import Side
from hingeline_virtual.commands import BoardName, Command, Face, Name, Vector

ChipName = Literal[
    "mpu6050", "mpu6500", "lis3dh", "adxl345", "lsm6ds3", "lsm6ds3trc", "lsm6dsox", "icm42688", "adxl355"
]

_ADDRESSES = {
    "mpu6050": 0x68, "mpu6500": 0x68, "lis3dh": 0x18, "adxl345": 0x53, "lsm6ds3": 0x6A, "lsm6ds3trc": 0x6A,
    "lsm6dsox": 0x6A, "icm42688": 0x68, "adxl355": 0x1D,
}  # fmt: skip


class Table(TomlModel):
    """The table on which carriers are placed."""

    tilt_deg: float = Field(default=0.0, ge=0, le=20, description="angle between the table and level")
    direction_deg: float = Field(
        default=0.0, description="where it falls to: from X, counter-clockwise seen from above"
    )


class Hands(TomlModel):
    """The hands that place and tape carriers: how fast and how well."""

    transit_s: float = Field(default=0.4, ge=0.1, le=10, description="time from one pose to the next")
    placement_scatter_deg: float = Field(
        default=0.0, ge=0, le=5, description="sd of a placement's tilt, each way"
    )
    yaw_scatter_deg: float = Field(default=0.0, ge=0, le=20, description="sd of a placement's yaw")
    tape_scatter_deg: float = Field(
        default=0.0, ge=0, le=5, description="sd of a taped carrier's attitude, each axis"
    )


class Room(TomlModel):
    """The air, which the chips follow."""

    ambient_c: float = Field(default=22.0, ge=-40, le=85, description="temperature at the start")
    warming_s: float = Field(default=120.0, gt=0, description="time constant with which a chip follows")


class Sensor(TomlModel):
    """One accelerometer and the carrier it is fixed in."""

    name: Name = Field(description="what commands call it")
    chip: ChipName = Field(description="its kind")
    bus: int = Field(default=0, ge=0, le=1, description="number of the I2C bus it hangs on")
    address: int = Field(
        default=0, ge=0, le=0x77, description="its I2C address; default: the chip's usual one"
    )
    identity: int | None = Field(default=None, ge=0, le=255, description="its who-am-i, where it is a clone")
    bias_mg: Vector = Field(default=(0.0, 0.0, 0.0), description="what x, y, z show at 0 g and 25 °C")
    scale_percent: Vector = Field(default=(0.0, 0.0, 0.0), description="how much too large x, y, z read")
    cross_axis_percent: tuple[float, float, float, float, float, float] = Field(
        default=(0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
        description="share of y in x, z in x, x in y, z in y, x in z, y in z",
    )
    chip_turn_deg: Vector = Field(
        default=(0.0, 0.0, 0.0),
        description="how the chip sits in its carrier: rotation vector in the carrier's axes",
    )
    noise_ug: Vector | None = Field(
        default=None, description="noise density of x, y, z in µg/√Hz; default: the chip's datasheet"
    )
    clock_percent: float = Field(
        default=0.0,
        ge=-20,
        le=20,
        description="how much too fast its own clock runs, which paces its samples",
    )
    tempco_mg_c: Vector = Field(default=(0.0, 0.0, 0.0), description="change of the bias of x, y, z in mg/°C")
    self_heating_c: float = Field(
        default=0.0, ge=0, le=20, description="how much warmer than the room it gets in use"
    )
    square_deg: dict[Face, tuple[float, float]] = Field(
        default_factory=dict,
        description="how far up leans, with that face up on level ground, from the face's axis "
        "toward the two next axes (x to y to z to x)",
    )

    @model_validator(mode="before")
    @classmethod
    def _usual_address(cls, data: object) -> object:
        if isinstance(data, dict) and "address" not in data and data.get("chip") in _ADDRESSES:
            return {**data, "address": _ADDRESSES[data["chip"]]}
        return data


class Board(TomlModel):
    """A microcontroller board."""

    name: BoardName = Field(description="what commands, its port and itself call it")
    pins: Name = Field(default="pico", description="its pin map in the firmware")
    uid: Annotated[str, StringConstraints(pattern=r"^([0-9a-f]{2}){1,16}$")] = Field(
        default="00", description="its unique id in hex; default: made from its name"
    )
    first_ticks_us: int = Field(
        default=0,
        ge=0,
        lt=1 << 30,
        description="what its microsecond counter shows at power-on; it wraps at 2**30",
    )
    watchdog: bool = Field(default=False, description="its configuration asks for the watchdog")
    sensors: list[Sensor] = Field(min_length=1, max_length=4, description="its sensors")

    @model_validator(mode="before")
    @classmethod
    def _own_uid(cls, data: object) -> object:
        if isinstance(data, dict) and "uid" not in data:
            return {**data, "uid": f"e661{crc32(str(data.get('name')).encode()):08x}"}
        return data


class Surface(TomlModel):
    """A control surface, or a fixed part if nothing moves it."""

    name: Name = Field(description="what commands call it")
    side: Side = Field(description="as seen from behind")
    dihedral_deg: float = Field(
        default=0.0, ge=-90, le=90, description="how far its hinge line rises toward the tip"
    )
    sweep_deg: float = Field(
        default=0.0, ge=-60, le=60, description="how far its hinge line runs aft toward the tip"
    )
    skin_slope_deg: float = Field(
        default=0.0,
        ge=-60,
        le=60,
        description="turn of the skin about the hinge line where the sensor sits; falling aft is negative",
    )
    skin_taper_deg: float = Field(
        default=0.0, ge=-30, le=30, description="turn of the skin about its y where the sensor sits"
    )
    mounting_yaw_deg: float = Field(
        default=0.0, ge=-90, le=90, description="how far the carrier's edge is off the hinge line"
    )
    sensor_aft_mm: float = Field(default=15.0, ge=0, description="distance of the sensor from the hinge line")
    neutral_deg: float = Field(
        default=0.0, ge=-60, le=60, description="its angle at neutral: the neutral error"
    )
    positions: dict[Name, float] = Field(
        default_factory=dict, description="deflection from neutral at named stick positions"
    )
    play_deg: float = Field(
        default=0.0,
        ge=0,
        le=20,
        description="free play, from end to end: where it turns, it stands until that is taken up",
    )
    compliance_deg: float = Field(
        default=0.0, ge=0, le=20, description="how far a finger bends it beyond the play"
    )
    rate_deg_s: float = Field(default=300.0, gt=0, description="how fast its servo turns it")
    ringing_hz: float = Field(
        default=8.0, gt=0, le=50, description="frequency at which it rings when stopped"
    )
    damping: float = Field(default=0.4, gt=0, lt=1, description="damping ratio of that")


class Scenario(TomlModel):
    """A whole scenario."""

    seed: int = Field(default=1, ge=0, description="of every random number")
    speed: float = Field(
        default=1.0, ge=0, le=1000, description="scene seconds in a second; 0: as fast as boards and host can"
    )
    table: Table = Field(default=Table(), description="what carriers are placed on")
    hands: Hands = Field(default=Hands(), description="who places them")
    room: Room = Field(default=Room(), description="what they warm up in")
    boards: list[Board] = Field(min_length=1, description="the boards that are plugged in")
    surfaces: list[Surface] = Field(default_factory=list, description="the surfaces of the aircraft")
    steps: list[Command] = Field(default_factory=list, description="commands, done in their order")

    @property
    def sensors(self) -> dict[str, Sensor]:
        """Every sensor by its name."""
        return {sensor.name: sensor for board in self.boards for sensor in board.sensors}
