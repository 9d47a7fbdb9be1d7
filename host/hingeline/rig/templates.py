"""Sheets to start from; their figures are examples, to be replaced by those of the manual."""

from __future__ import annotations

from importlib.resources import files

SUFFIX = ".rig.toml"
TEMPLATES = ("trainer", "aerobatic", "flying-wing", "v-tail", "glider", "jet")
"""Names of the templates, the simplest first."""


def template_text(template: str) -> str:
    """Read the sheet of a template, one of `TEMPLATES`."""
    return (files("hingeline.rig") / "templates" / (template + SUFFIX)).read_text(encoding="utf-8")
