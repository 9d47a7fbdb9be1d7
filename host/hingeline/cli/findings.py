"""What the commands that look for faults share: a limit to judge by, words for what was found, the exit status."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from hingeline.checks.finding import Finding, Found
    from hingeline.cli.screen import Screen
    from hingeline.rig.quantities import Measure

_UNITS = {"deg": "°", "mm": " mm", "ratio": ""}


def limit_option(default: str, example: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a command `--limit`; `default` says what holds without it."""
    return click.option("--limit", metavar="SIZE", help=f"Such as `{example}`. Default: {default}.")


def read_limit(text: str | None) -> Measure | None:
    """Return the limit that was given.

    Raises
    ------
    UsageProblem
        It is no tolerance.
    """
    from pydantic import TypeAdapter, ValidationError

    from hingeline.errors import UsageProblem
    from hingeline.rig.quantities import Tolerance

    if text is None:
        return None
    try:
        measure: Measure = TypeAdapter(Tolerance).validate_python(text)
    except ValidationError as problem:
        (wrong,) = problem.errors()
        raise UsageProblem(f"--limit {text!r}: expected {wrong['msg']}", "Write it as `0.5 deg`") from problem
    return measure


def read_limit_deg(text: str | None, default_deg: float) -> float:
    """Return a limit in degrees.

    Raises
    ------
    UsageProblem
        It is no tolerance, or one in mm.
    """
    from hingeline.errors import UsageProblem

    limit = read_limit(text)
    if limit is not None and limit.linear:
        raise UsageProblem(f"--limit {text!r}: expected degrees", "Write it as `0.5 deg`")
    return default_deg if limit is None else limit.value


def conclude(screen: Screen, surface: str, found: Found) -> int:
    """Print what was found on a surface and return the exit status."""
    from hingeline.errors import OutOfTolerance

    rows = [surface, *(f"  {_text(one)}" for one in found.findings), *(f"  {note}" for note in found.notes)]
    screen.data("\n".join(rows), surface=surface, **found.to_dict())
    return 0 if found.inside else OutOfTolerance.exit_status


def _text(finding: Finding) -> str:
    low, _ = finding.to_dict()["interval_95"]
    unit = _UNITS[finding.unit]
    limit = f"limit {finding.limit:.2f}{unit}"
    if finding.expected:
        limit = f"expected {finding.expected:.2f} ±{finding.limit:.2f}{unit}"
    word = "within" if finding.inside else "BEYOND"
    close = ", but the limit is within the uncertainty" if finding.close else ""
    line = f"{finding.what:<44} {finding.value:+.2f}{unit} ±{finding.value - low:.2f}  {limit}  {word}{close}"
    if finding.inside or not finding.candidates:
        return line
    return "\n".join([line, "    candidates:", *(f"      {cause}" for cause in finding.candidates)])
