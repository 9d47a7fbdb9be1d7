"""The settings card: per servo, what the transmitter is set to, and the throws that it gave; to be cut out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from hingeline.advice.verdict import NO_VERDICT
from hingeline.checks.positions import NEUTRAL
from hingeline.checks.results import SettingSheet
from hingeline.checks.settings import names_of
from hingeline.checks.values import LEFT_RIGHT, Judgement
from hingeline.report.results import Results, Row
from hingeline.report.unmeasured import Completeness, completeness
from hingeline.rig.sheet import Sheet
from hingeline.units import UNITS, signed

BLANK = ""
"""To be filled in by hand: nobody said what the transmitter is set to."""


class Line(NamedTuple):
    """A setting or a throw: a value for each side, or a single one for all."""

    name: str
    values: tuple[str, ...]


class SurfaceCard(NamedTuple):
    """What belongs to one surface, with its sides in the order of the columns."""

    surface: str
    sides: tuple[str, ...]
    settings: tuple[Line, ...]
    throws: tuple[Line, ...]


def settings_card(results: Results) -> tuple[SurfaceCard, ...]:
    """Every surface with throws, measured or asked for by the sheet; its settings as the sheet names them."""
    complete, sheet = completeness(results), results.sheet
    rows: dict[str, list[Row]] = {} if not isinstance(sheet, Sheet) else {surface: [] for surface in sheet.surfaces}
    for surface, several in results.by_surface:
        rows[surface] = several
    last = {each.surface: each for each in results.every(SettingSheet)}
    cards = []
    for surface, several in rows.items():
        names: tuple[str, ...] = ()
        sides = tuple(dict.fromkeys(row.as_left.name for row in several if _is_throw(row)))
        if isinstance(sheet, Sheet) and surface in sheet.surfaces:
            names, sides = names_of(sheet, surface), tuple(sheet.surfaces[surface].sides)
        throws = tuple(_throws(surface, several, sides, complete))
        if throws:
            settings = tuple(_settings(names, sides, last.get(surface, SettingSheet(surface))))
            cards.append(SurfaceCard(surface, sides, settings, throws))
    return tuple(cards)


def _is_throw(row: Row) -> bool:
    return NEUTRAL not in row.position and not row.as_left.name.startswith(LEFT_RIGHT)


def _throws(surface: str, rows: list[Row], sides: tuple[str, ...], complete: Completeness) -> Iterator[Line]:
    reached: dict[str, dict[str, str]] = {}
    for row in filter(_is_throw, rows):
        reached.setdefault(row.position, {})[row.as_left.name] = _reached(row.as_left)
    for position, by_side in reached.items():
        yield Line(position, tuple(by_side.get(side, BLANK) for side in sides))
    for each in complete.unmeasured or ():
        if each.surface == surface:
            yield from (Line(f"{each.position} · {mode}", ("not measured",)) for mode in each.modes)


def _reached(judgement: Judgement) -> str:
    """A throw in the unit of its target, with its word where it is not within the tolerance."""
    if judgement.wrong or judgement.verdict == NO_VERDICT:
        return NO_VERDICT
    is_mm = judgement.unit == "mm" and judgement.travel is not None
    size = judgement.travel.mm if is_mm and judgement.travel else judgement.measured.deg
    text = signed(size, 1).replace("-", "\N{MINUS SIGN}") + UNITS["mm" if is_mm else "deg"]
    return text if judgement.inside else f"{text} {judgement.verdict}"


def _settings(names: tuple[str, ...], sides: tuple[str, ...], last: SettingSheet) -> Iterator[Line]:
    """Sub-trim, end points, differential, rates and mixes; what is finer only where somebody set it."""
    known = {name: f"{percent:.0f} %" for name, percent in last.now_percent.items()}
    known |= {
        change.name: f"set {change.new_percent:.0f} %" for change in last.changes if change.new_percent is not None
    }
    of_servo: dict[str, dict[str, str]] = {"sub-trim": {}}
    of_all: dict[str, str] = {}
    for name in dict.fromkeys((*names, *known)):
        side, _, rest = name.partition(" ")
        if "end point" in name:
            side, rest = (side, rest) if side in sides else (sides[0], name)
            of_servo.setdefault(rest, {})[side] = known.get(name, BLANK)
        elif name in known or not (side in sides or " side of " in name):
            of_all[name] = known.get(name, BLANK)
    if len(of_servo) > 2 and not any("differential" in name for name in of_all):
        of_all["differential"] = BLANK
    yield from (Line(name, tuple(values.get(side, BLANK) for side in sides)) for name, values in of_servo.items())
    yield from (Line(name, (text,)) for name, text in of_all.items())
