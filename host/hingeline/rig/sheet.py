"""The rigging sheet: what a `*.rig.toml` may hold. docs/rigging-sheet.md is its reference."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, PrivateAttr, model_validator
from pydantic_core import PydanticCustomError

from hingeline.advice.clevis import THREAD_PITCH_MM
from hingeline.errors import SheetError
from hingeline.rig.kinds import KINDS, Kind, KindName, Side
from hingeline.rig.quantities import AngleDeg, Differential, LengthMm, Measure, Percent, Position, Throw
from hingeline.rig.targets import NeutralTarget, Target, neutrals, targets
from hingeline.rig.tolerances import PROFILES, SheetTolerances, ToleranceName, Tolerances
from hingeline.rig.toml_findings import nearest, one_of
from hingeline.rig.toml_models import TomlModel

Convention = Literal["ruler", "height", "arc"]
_MOST_CHARACTERS = 40


def _name(found: str) -> str:
    if not (found.isprintable() and found == found.strip() and 0 < len(found) <= _MOST_CHARACTERS):
        raise PydanticCustomError(
            "name",
            "a name of 1 to {most} printable characters, no control characters, no space at its ends",
            {"most": _MOST_CHARACTERS},
        )
    return found


def _thread(found: str) -> str:
    if found not in THREAD_PITCH_MM:
        known = tuple(THREAD_PITCH_MM)
        raise PydanticCustomError("thread", "{known}", {"known": one_of(known), "instead": known})
    return found


Name = Annotated[str, AfterValidator(_name)]
Thread = Annotated[str, AfterValidator(_thread)]


class Travel(TomlModel):
    """How far a surface goes each way in one mode."""

    up: Throw | None = Field(default=None, description="trailing edge up", examples=["13 mm"])
    down: Throw | None = Field(default=None, description="trailing edge down", examples=["13 mm"])
    differential_percent: Differential | None = Field(
        default=None,
        alias="differential",
        description="instead of `down`: so much less than up",
        examples=["30 %"],
    )
    left: Throw | None = Field(
        default=None, description="of a rudder: trailing edge left", examples=["30 mm"]
    )
    right: Throw | None = Field(
        default=None, description="of a rudder: trailing edge right", examples=["30 mm"]
    )

    def signed(self) -> dict[str, Measure]:
        """Return the directions that have a throw, with the throw; down and right are negative."""
        down = self.down
        if self.up and self.differential_percent is not None:
            down = self.up.reduced(self.differential_percent)
        given = {"up": self.up, "down": down, "left": self.left, "right": self.right}
        return {
            direction: Measure(
                -measure.value if direction in ("down", "right") else measure.value, measure.unit
            )
            for direction, measure in given.items()
            if measure
        }


class Neutral(TomlModel):
    """Where neutral is, if not merely left as right."""

    faired: Position | None = Field(
        default=None, description="from the position faired with the fixed part", examples=["2 mm up"]
    )
    level_deg: AngleDeg | None = Field(
        default=None,
        alias="level",
        description="slope of the skin under the sensor against the datum, trailing edge up positive",
        examples=["-1.5 deg"],
    )


class Linkage(TomlModel):
    """From servo to horn, for the advice on what to turn."""

    thread: Thread = Field(description="thread of the clevis", examples=["M2"])
    horn_mm: LengthMm = Field(
        alias="horn", description="hinge line to the hole in the horn", examples=["12 mm"]
    )
    arm_mm: LengthMm | None = Field(
        default=None, alias="arm", description="servo shaft to the hole in its arm", examples=["10 mm"]
    )
    rod_mm: LengthMm | None = Field(
        default=None, alias="rod", description="pushrod, pin to pin", examples=["80 mm"]
    )
    horn_side: Literal["top", "bottom"] | None = Field(
        default=None, description="skin that the horn is on: top or bottom", examples=["bottom"]
    )


class Strip(TomlModel):
    """The part of the wing or tail that the surface spans on one side, for what a mismatch does."""

    span_mm: LengthMm = Field(
        alias="span", description="length of the surface along the span", examples=["500 mm"]
    )
    wing_chord_mm: LengthMm = Field(
        alias="wing_chord",
        description="leading to trailing edge, in the middle of the surface",
        examples=["190 mm"],
    )
    arm_mm: LengthMm = Field(
        alias="arm",
        description="centre line of the aircraft to the middle of the surface",
        examples=["400 mm"],
    )


class Surface(TomlModel):
    """One control surface, or a pair of them left and right."""

    kind: KindName = Field(
        description="what kind of surface it is; left out, its name tells", examples=["aileron"]
    )
    sides: tuple[Side, ...] = Field(
        description="which parts are measured, as seen from behind; left out, by the kind",
        examples=[["left", "right"]],
    )
    chord_mm: LengthMm | None = Field(
        default=None,
        alias="chord",
        description="hinge axis to trailing edge, square to the hinge, where the manual measures its mm",
        examples=["45 mm"],
    )
    station_mm: LengthMm | None = Field(
        default=None,
        alias="station",
        description="from the root to where the chord is measured",
        examples=["20 mm"],
    )
    counterbalance_mm: LengthMm | None = Field(
        default=None,
        alias="counterbalance",
        description="how far a balanced tip reaches ahead of the hinge axis; no part of the chord",
        examples=["15 mm"],
    )
    hinge: Literal["top", "middle", "bottom"] = Field(
        default="middle",
        description="where the hinge axis is: top or bottom skin, or middle; left out, middle",
        examples=["top"],
    )
    sweep_deg: AngleDeg = Field(
        default=0.0, alias="sweep", description="of the hinge, tip aft positive", examples=["12 deg"]
    )
    dihedral_deg: AngleDeg = Field(
        alias="dihedral",
        description="of the hinge, tip up positive; left out, by the kind",
        examples=["35 deg"],
    )
    convention: Convention | None = Field(
        default=None, description="of this surface's mm, instead of the sheet's", examples=["height"]
    )
    neutral: Neutral = Field(default=Neutral(), description="where neutral is, if not merely left as right")
    throws: dict[Name, Travel] = Field(default={}, description="for each mode how far it goes")
    as_aileron: dict[Name, Travel] = Field(
        default={}, description="the same, its part as aileron (flaperon, elevon)"
    )
    as_elevator: dict[Name, Travel] = Field(
        default={}, description="the same, its part as elevator (elevon, v-tail)"
    )
    as_rudder: dict[Name, Travel] = Field(default={}, description="the same, its part as rudder (v-tail)")
    as_flap: dict[Name, Travel] = Field(default={}, description="the same, its part as flap (flaperon)")
    tolerances: Tolerances = Field(
        default=Tolerances(), description="of this surface, instead of the sheet's"
    )
    linkage: Linkage | None = Field(
        default=None, description="from servo to horn, for the advice on what to turn"
    )
    strip: Strip | None = Field(default=None, description="of wing or tail, for what a mismatch does")

    @model_validator(mode="before")
    @classmethod
    def _from_kind(cls, table: Any) -> Any:
        if not isinstance(table, dict):
            return table
        kind = KINDS.get(str(table.get("kind")), Kind())
        return {"sides": kind.sides, "dihedral": f"{kind.dihedral_deg} deg", **table}

    def travels(self) -> dict[str, dict[str, Travel]]:
        """Return the tables of throws by their key, empty ones too."""
        keys = ("throws", "as_aileron", "as_elevator", "as_rudder", "as_flap")
        return {key: getattr(self, key) for key in keys}


class Sheet(TomlModel):
    """A whole rigging sheet."""

    schema_version: Literal[1] = Field(description="version of this format, 1", examples=[1])
    aircraft: Name = Field(description="name of the aircraft", examples=["my aircraft"])
    modes: tuple[Name, ...] = Field(
        description="rates or flight modes, in the order to check them",
        examples=[["low", "high"]],
    )
    convention: Convention = Field(
        default="ruler",
        description="how mm are measured: ruler, height or arc; left out, ruler",
        examples=["ruler"],
    )
    sub_trim_limit_percent: Percent = Field(
        default=10.0,
        alias="sub_trim_limit",
        description="most sub-trim before the linkage is to be moved; left out, 10 %",
        examples=["10 %"],
    )
    tolerances: SheetTolerances = Field(
        default=SheetTolerances(), description="the profile and what differs from it"
    )
    surfaces: dict[Name, Surface] = Field(
        alias="surface", min_length=1, description="the control surfaces, a table `[surface.NAME]` each"
    )
    presets: dict[Name, dict[Name, dict[Name, Position]]] = Field(
        default={}, alias="preset", description="positions of several surfaces at once, `[preset.MODE.NAME]`"
    )

    _text: str = PrivateAttr(default="")

    @property
    def text(self) -> str:
        """What it was parsed from."""
        return self._text

    @model_validator(mode="before")
    @classmethod
    def _kinds_from_names(cls, table: Any) -> Any:
        surfaces = table.get("surface")
        if not isinstance(surfaces, dict):
            return table
        named = {
            name: {"kind": name, **surface} if name in KINDS and isinstance(surface, dict) else surface
            for name, surface in surfaces.items()
        }
        return {**table, "surface": named}

    def surface(self, name: str) -> Surface:
        """Return a surface by its name; raises `SheetError` if there is none."""
        return self.surfaces[known_name(name, "surface", tuple(self.surfaces))]

    def tolerance(self, surface: str, name: ToleranceName) -> Measure:
        """Return a tolerance of a surface: its own, else the sheet's, else the profile's."""
        own, common = self.surface(surface).tolerances, self.tolerances
        return getattr(own, name) or getattr(common, name) or PROFILES[common.profile][name]

    def targets(self, surface: str | None = None, mode: str | None = None) -> tuple[Target, ...]:
        """Return every throw and preset, by mode and surface; raises `SheetError` if one named is unknown."""
        surfaces = (
            (known_name(surface, "surface", tuple(self.surfaces)),) if surface else tuple(self.surfaces)
        )
        modes = (known_name(mode, "mode", self.modes),) if mode else self.modes
        return tuple(targets(self, surfaces, modes))

    def neutrals(self, surface: str | None = None) -> tuple[NeutralTarget, ...]:
        """Return the neutral of every side; raises `SheetError` if the surface named is unknown."""
        surfaces = (
            (known_name(surface, "surface", tuple(self.surfaces)),) if surface else tuple(self.surfaces)
        )
        return tuple(neutrals(self, surfaces))


def known_name(name: str, what: str, names: tuple[str, ...]) -> str:
    """Return the name of a surface or mode; raises `SheetError` if it is none of these names."""
    if name not in names:
        raise SheetError(
            f"no {what} {name!r} in the sheet, expected {one_of(names)}",
            nearest(name, names) or f"Name a {what} of the sheet",
        )
    return name
