"""What to turn on a surface: its throws as rows, the settings that bring them within the tolerance, and their words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from math import hypot
from typing import NamedTuple

from hingeline.advice import Advice
from hingeline.advice.search import settings_of
from hingeline.advice.settings import AGAIN, LINKAGE, Change, Cures, Row
from hingeline.advice.verdict import edge
from hingeline.checks.judgement import Comparison
from hingeline.checks.positions import Key, key_of
from hingeline.checks.results import SettingSheet
from hingeline.checks.values import SettingChange
from hingeline.rig.kinds import KINDS
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import Target
from hingeline_calibration.budget import COVERAGE_FACTOR

WHICH = "first read the positions that decide which setting to turn: "
ASSUMED = "this takes each setting to be at 100 % now; if not, name it with `--now`"
_MOST_NAMED = 3


class Throw(NamedTuple):
    """One side at a command: its angle beside the target, and what comes before any advice on it, if anything does.

    It is `stale` where a setting that drives it was turned since.
    """

    comparison: Comparison
    before: str = ""
    stale: bool = False

    @property
    def counts(self) -> bool:
        """Whether it tells of the settings as they stand."""
        return not self.before and not self.stale and self.comparison.is_known

    def is_turned_from(self, former: Throw) -> bool:
        """Whether it moved by more than noise since it was read before."""
        was, now = former.comparison.measured, self.comparison.measured
        noise_deg = hypot(was.standard_uncertainty_deg, now.standard_uncertainty_deg)
        return abs(now.deflection_deg - was.deflection_deg) > COVERAGE_FACTOR * noise_deg and not former.stale


def rows_of(sheet: Sheet, surface: str, throws: Mapping[Key, Throw]) -> dict[Key, Row]:
    """Every throw that the sheet asks of a surface, with the angles of those that were read and count."""
    ways = KINDS[sheet.surface(surface).kind].directions
    return {
        key_of(target): _row(
            target, throws.get(key_of(target)), ways, target.command in sheet.presets.get(target.mode, {})
        )
        for target in sheet.targets(surface)
    }


def _row(target: Target, throw: Throw | None, ways: tuple[str, str], is_preset: bool) -> Row:
    wanted_deg, tolerance_deg = target.deflection_deg, target.tolerance_deg
    measured_deg, uncertainty_deg = None, 0.0
    if throw is not None and throw.counts:
        comparison = throw.comparison
        measured_deg = comparison.measured.deflection_deg
        uncertainty_deg = comparison.measured.standard_uncertainty_deg
        if comparison.verdict.unit == "mm" and comparison.verdict.gap:  # degrees and mm draw the same line
            per_mm = abs((wanted_deg - measured_deg) / comparison.verdict.gap)
            tolerance_deg = per_mm * comparison.verdict.tolerance
    return Row(
        target.side,
        target.command if is_preset else target.command.rpartition(" ")[0],
        target.mode,
        ways[wanted_deg < 0],
        wanted_deg,
        tolerance_deg,
        target.match_tolerance_deg,
        measured_deg,
        uncertainty_deg,
        is_preset,
    )


def names_of(sheet: Sheet, surface: str) -> tuple[str, ...]:
    """The names of the transmitter's settings that drive the throws of a surface, in the reader's words."""
    settings = settings_of(tuple(rows_of(sheet, surface, {}).values()))
    return tuple(each.name for each in settings if each.multiplies and each.kind != "end points")


def advise_row(cures: Cures, row: Row) -> Advice:
    """What of the cures to do where one throw is held; which setting it is must not depend on what was not read."""
    changes = cures.at(row)
    if not changes:
        return Advice(AGAIN if row in cures.remaining else "")
    if unread := cures.unread_beside(row):
        gap_deg = row.wanted_deg - (row.measured_deg or 0.0)
        return Advice(f"{edge(gap_deg)}; {WHICH}{_names(unread)}", gap_deg)
    advices = [change.advise(row) for change in changes]
    return Advice(
        "; ".join(advice.text for advice in advices),
        sum(advice.moves_deg for advice in advices),
        advices[0].setting_percent if len(advices) == 1 else None,
    )


def driven_with(turned: Iterable[Key], rows: Mapping[Key, Row], cures: Cures) -> set[Key]:
    """The other throws that a setting drives which was turned at some: as it was advised there, else any."""
    driven = set()
    for key in turned:
        changes = () if cures.unread_beside(rows[key]) else cures.at(rows[key])
        for other, row in rows.items():
            if any(change.setting.drives(row) for change in changes) or (not changes and rows[key].shares_end(row)):
                driven.add(other)
    return driven


def _names(rows: tuple[Row, ...]) -> str:
    names = [row.name for row in rows[:_MOST_NAMED]]
    return ", ".join(names) + (f" and {len(rows) - len(names)} more" if len(rows) > len(names) else "")


def setting_sheet(surface: str, cures: Cures, now_percent: Mapping[str, float]) -> SettingSheet:
    """The cures as a result."""
    return SettingSheet(
        surface,
        tuple(_changes(cures)),
        dict(now_percent),
        tuple(row.name for row in cures.remaining),
        tuple(row.name for row in cures.unread),
    )


def _changes(cures: Cures) -> Iterator[SettingChange]:
    for side in cures.uneven:
        name = "linkage" if side == "middle" else f"{side} linkage"
        yield SettingChange(name, f"its ends are off opposite ways: first {LINKAGE}; then the end points", side)
    for change in cures.first:
        yield _change(change)


def _change(change: Change) -> SettingChange:
    setting, advice = change.setting, change.advise(change.rows[0])
    is_set = advice.setting_percent is not None
    return SettingChange(
        setting.name,
        advice.text,
        setting.side,
        change.now_percent if is_set else None,
        advice.setting_percent,
    )


def sheet_text(sheet: SettingSheet) -> str:
    """For a reader, a line for each thing to turn, servo by servo; empty where there is nothing to turn or to say."""
    rows = [f"  {_servo(change.side):<13}{change.name}: {change.text}" for change in sheet.changes]
    if rows and sheet.unread:
        rows.append(f"  not read, so not taken into account: {', '.join(sheet.unread)}")
    rows += [f"  {name}: {AGAIN}" for name in sheet.remaining]
    is_assumed = not sheet.now_percent and any(change.now_percent is not None for change in sheet.changes)
    assumed = f" ({ASSUMED})" if is_assumed else ""
    return "\n".join([f"What to turn on the {sheet.surface}{assumed}:", *rows]) if rows else ""


def _servo(side: str) -> str:
    return "" if side == "middle" else f"{side} servo" if side else "both servos"
