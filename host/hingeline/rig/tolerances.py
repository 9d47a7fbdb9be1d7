"""Tolerance profiles: defaults of common practice, without a source, that a sheet overrides key by key."""

from __future__ import annotations

from typing import Literal, get_args

from hingeline.rig.quantities import Measure, Tolerance
from hingeline.rig.toml_models import TomlModel, key

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

    neutral: Tolerance | None = key(
        "left against right at neutral, or a neutral against its own target", "0.3 deg", None
    )
    throw: Tolerance | None = key("a throw against its target", "1 mm", None)
    match: Tolerance | None = key("left against right at a throw", "0.5 deg", None)
    preset: Tolerance | None = key("a preset against its target, and left against right there", "1 deg", None)


class SheetTolerances(Tolerances):
    """The tolerances of a whole sheet."""

    profile: ProfileName = key("which profile the sheet starts from; left out, sport", "glider", "sport")
