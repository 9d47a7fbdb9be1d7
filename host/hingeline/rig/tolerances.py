"""Tolerance profiles: defaults of common practice, without a source, that a sheet overrides key by key."""

from __future__ import annotations

from typing import Literal, get_args

from pydantic import Field

from hingeline.rig.quantities import Measure, Tolerance
from hingeline.rig.toml_models import TomlModel

ToleranceName = Literal["neutral", "throw", "match", "preset"]
ProfileName = Literal["sport", "glider", "pattern", "jet", "3d"]

_PROFILES_DEG: dict[ProfileName, tuple[float, float, float, float]] = {
    "sport": (1.0, 2.0, 2.0, 2.0),
    "glider": (0.3, 0.5, 0.5, 1.0),
    "pattern": (0.2, 0.5, 0.5, 0.5),
    "jet": (0.3, 0.5, 0.5, 0.5),
    "3d": (0.5, 2.0, 2.0, 2.0),
}

PROFILES: dict[ProfileName, dict[ToleranceName, Measure]] = {
    profile: dict(zip(get_args(ToleranceName), (Measure(figure, "deg") for figure in figures), strict=True))
    for profile, figures in _PROFILES_DEG.items()
}
"""For each profile its tolerances: the wide end of what is common, for crow the narrow one."""


class Tolerances(TomlModel):
    """Tolerances that take the place of the profile's."""

    neutral: Tolerance | None = Field(
        default=None,
        description="left against right at neutral, or a neutral against its own target",
        examples=["0.3 deg"],
    )
    throw: Tolerance | None = Field(default=None, description="a throw against its target", examples=["1 mm"])
    match: Tolerance | None = Field(
        default=None, description="left against right at a throw", examples=["0.5 deg"]
    )
    preset: Tolerance | None = Field(
        default=None,
        description="a preset against its target, and left against right there",
        examples=["1 deg"],
    )


class SheetTolerances(Tolerances):
    """The tolerances of a whole sheet."""

    profile: ProfileName = Field(
        default="sport",
        description="which profile the sheet starts from; left out, sport",
        examples=["glider"],
    )
