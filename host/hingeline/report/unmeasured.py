"""What the rigging sheet of a session asks for and nobody measured: a sheet that is kept is not read as complete."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from hingeline.checks.asked import asked, places
from hingeline.errors import SheetError
from hingeline.report.results import Results
from hingeline.rig.sheet import Sheet
from hingeline.units import printable

_NOT_KNOWN = "so what it asks for beyond these readings is not known"


class Unmeasured(NamedTuple):
    """A position of a surface, and the modes in which no reading was taken of it; a neutral has none."""

    surface: str
    position: str
    modes: tuple[str, ...]

    @property
    def text(self) -> str:
        """Words for it, without the surface."""
        return f"{self.position} ({', '.join(self.modes)})" if self.modes else self.position


@dataclass(frozen=True)
class Completeness:
    """Whether all that a sheet asks for was measured.

    Attributes
    ----------
    text
        The same in a sentence.
    unmeasured
        What was not; None where the sheet is not known.
    """

    text: str
    unmeasured: tuple[Unmeasured, ...] | None = None

    @property
    def by_surface(self) -> Iterator[tuple[str, str]]:
        """Each surface with words for what of it was not measured."""
        for surface, several in groupby(self.unmeasured or (), key=lambda position: position.surface):
            yield surface, "; ".join(position.text for position in several)


def completeness(results: Results) -> Completeness:
    """Whether the readings of a session are all that its sheet asks for, inside or not."""
    sheet = results.sheet
    if sheet is None:
        return Completeness(f"The rigging sheet was not recorded, {_NOT_KNOWN}.")
    if isinstance(sheet, SheetError):
        first = printable(str(sheet).splitlines()[0])
        return Completeness(f"The rigging sheet that was recorded can't be read, {_NOT_KNOWN}: {first}")
    lacking = _lacking(sheet, results)
    if not lacking:
        return Completeness("All that the rigging sheet asks for was measured.", ())
    count = sum(len(position.modes) or 1 for position in lacking)
    words = "1 position" if count == 1 else f"{count} positions"
    were = "was" if count == 1 else "were"
    return Completeness(f"{words} that the rigging sheet asks for {were} not measured.", lacking)


def _lacking(sheet: Sheet, results: Results) -> tuple[Unmeasured, ...]:
    taken = {reading.place for reading in results.readings}
    modes: dict[tuple[str, str], list[str]] = {}
    for measure in asked(sheet):
        for place in places(sheet, measure):
            if place not in taken:
                modes.setdefault((place.surface, place.command), []).append(place.mode)
    return tuple(Unmeasured(*key, tuple(filter(None, several))) for key, several in modes.items())
