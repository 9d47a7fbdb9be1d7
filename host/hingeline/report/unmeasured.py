"""What the rigging sheet of a session asks for and nobody measured: a sheet that is kept is not read as complete."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from hingeline.checks.positions import asked, places
from hingeline.errors import SheetError
from hingeline.report.results import Results
from hingeline.units import counted, printable

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
    """Whether all that a sheet asks for was measured, in a sentence; what was not, None where nobody knows."""

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
    taken = {reading.place for reading in results.readings}
    lacking = [place for measure in asked(sheet) for place in places(sheet, measure) if place not in taken]
    if not lacking:
        return Completeness("All that the rigging sheet asks for was measured.", ())
    modes: dict[tuple[str, str], list[str]] = {}
    for place in lacking:
        modes.setdefault((place.surface, place.command), []).extend(filter(None, [place.mode]))
    were = "was" if len(lacking) == 1 else "were"
    return Completeness(
        f"{counted(len(lacking), 'position')} that the rigging sheet asks for {were} not measured.",
        tuple(Unmeasured(*key, tuple(several)) for key, several in modes.items()),
    )
