"""The next sensible step of the job, from where one is."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from typing import NamedTuple

from hingeline.checks.asked import asked
from hingeline.errors import HingelineError, PortUnavailable, StoreError, WrongFirmware
from hingeline.procedures.whereabouts import Whereabouts
from hingeline.rig.kinds import BOTH

_CURED_BY: tuple[tuple[type[HingelineError], str], ...] = (
    (WrongFirmware, "hingeline install"),
    (PortUnavailable, "hingeline doctor"),
    (StoreError, "hingeline calibration list"),
)
"""By the trouble with a board, the command that helps; `doctor` for the others."""
_WHY = {
    "neutral": "Tape the sensors on the {} and set its neutral.",
    "throws": "Check the throws of the {}.",
}
_AGAIN = "The {} was out of the tolerance: correct it as you were told, then see."


class Step(NamedTuple):
    """A command, and why."""

    command: str
    why: str


def next_step(found: Whereabouts) -> Step:
    """Return the step that comes first."""
    return next(_steps(found))


def _steps(found: Whereabouts) -> Iterator[Step]:
    plugged, working = found.plugged, found.plugged.working
    if (trouble := plugged.trouble) is not None:
        cure = next((one for kind, one in _CURED_BY if isinstance(trouble, kind)), "hingeline doctor")
        yield Step(cure, f"{trouble.cure}.")
    if not plugged.boards:
        yield from _without_board(found)
    if not working or len(working) < len(plugged.sensors):
        yield Step("hingeline doctor", "A sensor does not work: see what is wrong.")
    if raw := [name for name in working if name not in found.calibrated]:
        yield Step("hingeline calibrate", f"Calibrate on a flat table: {', '.join(raw)}.")
    if len(working) >= len(BOTH) > sum(name in working for name in found.sides.values()):
        yield Step("hingeline wiggle", "Tell which sensor is left and which right.")
    if not found.fresh:
        yield Step("hingeline datum", "Lay all sensors on one flat: the datum of this visit.")
    if found.flat is not None and found.flat.holds is False:
        yield Step("hingeline datum", "The datum does not hold: take it again, then read the neutrals again.")
    yield from _on_the_aircraft(found)


def _without_board(found: Whereabouts) -> Iterator[Step]:
    if found.goes_on and found.visit is not None:
        if found.of_the_visit is not None and found.visit.lacks(found.of_the_visit):
            yield Step("hingeline boards", "Your visit is not over: plug the sensors in, then go on.")
        yield Step(
            f"hingeline report {shlex.quote(found.visit.aircraft)}", "The sensors are off: keep the sheet."
        )
    if found.calibrated:
        yield Step("hingeline boards", "Plug the sensors in; this tells whether they answer.")
    yield Step("hingeline demo", "See the whole job done, without hardware.")


def _on_the_aircraft(found: Whereabouts) -> Iterator[Step]:
    if found.sheet is None:
        for path in found.sheets:
            yield Step(f"hingeline rig check {shlex.quote(path.name)}", "The sheet has something to mend.")
        yield Step("hingeline rig new lantern.rig.toml", "Write a rigging sheet: your manual's figures.")
        return
    path, sheet = found.sheet
    visit = found.visit if found.goes_on and found.of_the_visit is not None else None
    for measure in asked(sheet) if visit is None else visit.lacks(sheet):
        words = map(shlex.quote, ("hingeline", measure.command, path.name, measure.surface))
        out = visit is not None and visit.is_out(sheet, measure)
        why = _AGAIN if out else _WHY[measure.command]
        yield Step(" ".join(words), why.format(measure.surface))
    if found.flat is not None and found.flat.holds is None:
        yield Step("hingeline closure", "All is measured: does the datum still hold?")
    yield Step(f"hingeline report {shlex.quote(sheet.aircraft)}", "Count the sensors; keep the sheet.")
