"""What is shipped depends on what it imports, on nothing else; it and all tools are within a range: looked at offline.

`make lint` has pip look whether what is installed fits together, and pip-audit ask for known holes.
"""

from importlib.metadata import distribution, packages_distributions
from pathlib import Path

import pytest
import tomlkit
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from tests.test_imports import STANDARD, files, imports

ROOT = Path(__file__).parents[1]
OURS = {"hingeline", "hingeline_virtual", "hingeline_calibration", "hingeline_protocol"}
SHIPPED = tuple(
    one
    for one in map(Requirement, distribution("hingeline").requires or ())
    if one.marker is None or one.marker.evaluate({"extra": ""}) or 'extra == "sound"' in str(one.marker)
)
WITH = {"markupsafe": "jinja2", "pydantic-core": "pydantic"}
"""What comes with a dependency and is a part of its interface."""
PROGRAMS = {"mpremote"}
"""Run, not imported."""
PERMISSIVE = ("MIT", "BSD", "Apache", "PSF", "Python Software Foundation", "HPND")


TOOLS = tuple(
    Requirement(str(one))
    for extra in tomlkit.parse((ROOT / "pyproject.toml").read_text())["project"]["optional-dependencies"].values()
    for one in extra
    if not one.startswith("hingeline[")
)


def named(one: Requirement) -> str:
    return canonicalize_name(one.name)


@pytest.mark.parametrize("one", SHIPPED, ids=named)
def test_each_has_a_range_that_holds_what_is_installed_and_a_free_licence(one):
    assert {bound.operator for bound in one.specifier} == {">=", "<"}
    installed = distribution(one.name)
    assert one.specifier.contains(installed.version)
    told = installed.metadata
    licence = told.get("License-Expression") or " ".join(
        [told.get("License") or "", *(row for row in told.get_all("Classifier", []) if "License" in row)]
    )
    assert any(word in licence for word in PERMISSIVE), licence


@pytest.mark.parametrize("one", TOOLS, ids=named)
def test_each_tool_has_a_range(one):
    assert {bound.operator for bound in one.specifier} == {">=", "<"}


def test_what_is_imported_is_declared_and_what_is_declared_is_used():
    by_module = packages_distributions()
    modules = {
        name.partition(".")[0]
        for folder in ("host/hingeline", "calibration/hingeline_calibration")
        for path in files(folder)
        for name in imports(path)
    }
    used = {canonicalize_name(by_module[name][0]) for name in modules - STANDARD - OURS}
    declared = set(map(named, SHIPPED))
    assert {WITH.get(name, name) for name in used} | PROGRAMS == declared
