"""Sheets to start from; their figures are examples, to be replaced by those of the manual."""

from __future__ import annotations

from importlib.resources import files

SUFFIX = ".rig.toml"
TEMPLATES = (
    *("trainer", "flaperon-trainer", "two-servo-elevator", "aerobatic", "biplane", "twin-rudder"),
    *("flying-wing", "v-tail", "glider", "six-flap-glider", "jet"),
)
"""Names of the templates, the simplest first; then wings without a tail, gliders and jets."""


def template_text(template: str) -> str:
    """Read the sheet of a template, one of `TEMPLATES`."""
    return (files("hingeline.rig") / "templates" / (template + SUFFIX)).read_text(encoding="utf-8")
