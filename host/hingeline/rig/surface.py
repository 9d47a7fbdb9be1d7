"""One control surface of a rigging sheet: its keys. docs/rigging-sheet.md is the reference."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, ConfigDict, model_validator
from pydantic_core import PydanticCustomError

from hingeline.rig.kinds import KINDS, Kind, KindName
from hingeline.rig.quantities import SIGNS, AngleDeg, Differential, LengthMm, Measure, Position, Throw
from hingeline.rig.tolerances import Tolerances
from hingeline.rig.toml_models import TomlModel, key
from hingeline.units import MM_PER_INCH, Side

Convention = Literal["ruler", "height", "arc"]
Thread = Literal["M2", "M2.5", "M3", "2-56", "4-40"]
THREAD_PITCH_MM: dict[Thread, float] = {
    "M2": 0.4,
    "M2.5": 0.45,
    "M3": 0.5,
    "2-56": MM_PER_INCH / 56,
    "4-40": MM_PER_INCH / 40,
}
"""Metric: coarse pitches of ISO 261. Imperial: threads per inch, the second figure of the name."""
_MOST_CHARACTERS = 40


def _check_name(name: str) -> str:
    if not (name.isprintable() and name == name.strip() and 0 < len(name) <= _MOST_CHARACTERS):
        text = "a name of 1 to {most} printable characters, no control characters, no space at its ends"
        raise PydanticCustomError("name", text, {"most": _MOST_CHARACTERS})
    return name


Name = Annotated[str, AfterValidator(_check_name)]


class SheetTable(TomlModel):
    """A table of a sheet. Its keys are the names of the fields without the unit: the figures bring their own."""

    model_config = ConfigDict(alias_generator=lambda name: re.sub("_(mm|deg|percent)$", "", name))


class Travel(SheetTable):
    """How far a surface goes each way in one mode."""

    up: Throw | None = key("trailing edge up", "13 mm", None)
    down: Throw | None = key("trailing edge down", "13 mm", None)
    differential_percent: Differential | None = key("instead of `down`: so much less than up", "30 %", None)
    left: Throw | None = key("of a rudder: trailing edge left", "30 mm", None)
    right: Throw | None = key("of a rudder: trailing edge right", "30 mm", None)

    def signed(self) -> dict[str, Measure]:
        """The throws by their direction; down and right are negative."""
        down = self.down
        if self.up and self.differential_percent is not None:
            down = Measure(self.up.value * (1 - self.differential_percent / 100), self.up.unit)
        sizes = {"up": self.up, "down": down, "left": self.left, "right": self.right}
        return {way: Measure(SIGNS[way] * size.value, size.unit) for way, size in sizes.items() if size}


class Neutral(SheetTable):
    """Where neutral is, if not merely left as right."""

    faired: Position | None = key("from the position faired with the fixed part", "2 mm up", None)
    level_deg: AngleDeg | None = key(
        "slope of the skin under the sensor against the datum, trailing edge up positive", "-1.5 deg", None
    )


class Linkage(SheetTable):
    """From servo to horn, for the advice on what to turn."""

    thread: Thread = key("thread of the clevis", "M2")
    horn_mm: LengthMm = key("hinge axis to horn hole", "12 mm")
    arm_mm: LengthMm | None = key("servo shaft to the hole in its arm", "10 mm", None)
    rod_mm: LengthMm | None = key("pushrod, pin to pin", "80 mm", None)
    horn_side: Literal["top", "bottom"] | None = key("skin that the horn is on: top or bottom", "bottom", None)
    arm_lean_deg: AngleDeg = key("how far the arm leans aft of square to the rod at neutral", "5 deg", 0.0)
    horn_lean_deg: AngleDeg = key(
        "how far the horn hole lies aft of square to the rod, seen from the axis", "3 deg", 0.0
    )

    @property
    def pitch_mm(self) -> float:
        """How far one turn of the clevis moves it along its thread."""
        return THREAD_PITCH_MM[self.thread]


class Strip(SheetTable):
    """The part of the wing or tail that the surface spans on one side, for what a mismatch does."""

    span_mm: LengthMm = key("length of the surface along the span", "500 mm")
    wing_chord_mm: LengthMm = key("leading to trailing edge, in the middle of the surface", "190 mm")
    arm_mm: LengthMm = key("centre line of the aircraft to the middle of the surface", "400 mm")


class Surface(SheetTable):
    """One control surface, or a pair of them left and right."""

    kind: KindName = key("what kind of surface it is; left out, its name tells", "aileron")
    sides: tuple[Side, ...] = key(
        "which parts are measured, as seen from behind; left out, by the kind", ["left", "right"]
    )
    chord_mm: LengthMm | None = key(
        "hinge axis to trailing edge, square to the hinge, where the manual measures its mm", "45 mm", None
    )
    station_mm: LengthMm | None = key("from the root to where the chord is measured", "20 mm", None)
    chord_accuracy_mm: LengthMm = key(
        "how well you measured the chord, 95 %; left out, 0.6 mm, by a ruler", "0.2 mm", 0.6
    )
    counterbalance_mm: LengthMm | None = key(
        "how far a balanced tip reaches ahead of the hinge axis; no part of the chord", "15 mm", None
    )
    hinge: Literal["top", "middle", "bottom"] = key(
        "where the hinge axis is: top or bottom skin, or middle; left out, middle", "top", "middle"
    )
    sweep_deg: AngleDeg = key("of the hinge, tip aft positive", "12 deg", 0.0)
    dihedral_deg: AngleDeg = key("of the hinge, tip up positive; left out, by the kind", "35 deg")
    convention: Convention | None = key("of this surface's mm, instead of the sheet's", "height", None)
    neutral: Neutral = key("where neutral is, if not merely left as right", default=Neutral())
    throws: dict[Name, Travel] = key("for each mode how far it goes", default={})
    as_aileron: dict[Name, Travel] = key("the same, its part as aileron (flaperon, elevon)", default={})
    as_elevator: dict[Name, Travel] = key("the same, its part as elevator (elevon, v-tail)", default={})
    as_rudder: dict[Name, Travel] = key("the same, its part as rudder (v-tail)", default={})
    as_flap: dict[Name, Travel] = key("the same, its part as flap (flaperon)", default={})
    tolerances: Tolerances = key("of this surface, instead of the sheet's", default=Tolerances())
    linkage: Linkage | None = key("from servo to horn, for the advice on what to turn", default=None)
    strip: Strip | None = key("of wing or tail, for what a mismatch does", default=None)

    @model_validator(mode="before")
    @classmethod
    def _fill_in_by_kind(cls, table: Any) -> Any:
        if not isinstance(table, dict):
            return table
        kind = KINDS.get(str(table.get("kind")), Kind())
        return {"sides": kind.sides, "dihedral": f"{kind.dihedral_deg} deg", **table}

    def travels(self) -> dict[str, dict[str, Travel]]:
        """The tables of throws by their key, empty ones too."""
        return {key: getattr(self, key) for key in ("throws", "as_aileron", "as_elevator", "as_rudder", "as_flap")}

    def each_travel(self) -> Iterator[tuple[str, str, Travel]]:
        """Yield table, mode and travel."""
        for table, travels in self.travels().items():
            for mode, travel in travels.items():
                yield table, mode, travel
