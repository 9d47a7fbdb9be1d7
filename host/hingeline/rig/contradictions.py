"""What is wrong between keys of a sheet that are each right."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from hingeline.rig.kinds import KINDS
from hingeline.rig.quantities import Measure
from hingeline.rig.sheet import Linkage, Sheet, Surface, Travel
from hingeline.rig.tolerances import ToleranceName
from hingeline.rig.toml_findings import Finding, dotted, nearest, one_of
from hingeline.rig.toml_lines import Key
from hingeline_calibration.travel import travel_mm

_FARTHEST_DEG = 90.0
_SIDES = ({"left", "right"}, {"left"}, {"right"}, {"middle"})


def contradictions(sheet: Sheet) -> Iterator[Finding]:
    """Yield every contradiction of the sheet."""
    yield from _modes(sheet)
    for name, surface in sheet.surfaces.items():
        key: Key = ("surface", name)
        yield from _sides(key, surface)
        yield from _tables(key, surface)
        yield from _geometry(key, surface)
        if surface.linkage:
            yield from _linkage((*key, "linkage"), surface.linkage)
    yield from _presets(sheet)
    yield from _lengths(sheet)


def _modes(sheet: Sheet) -> Iterator[Finding]:
    if not sheet.modes:
        yield Finding(("modes",), "found []", "at least one rate or flight mode", 'Write modes = ["normal"]')
    for mode in sorted({mode for mode in sheet.modes if sheet.modes.count(mode) > 1}):
        yield Finding(("modes",), f"{mode!r} more than once", "each mode once", "Take the others out")
    uses: list[tuple[str, Key]] = [
        (mode, ("surface", name, table, mode))
        for name, surface in sheet.surfaces.items()
        for table, travels in surface.travels().items()
        for mode in travels
    ]
    uses += [(mode, ("preset", mode)) for mode in sheet.presets]
    for mode, key in uses:
        if mode not in sheet.modes:
            cure = nearest(mode, sheet.modes) or f"Add {mode!r} to modes"
            yield Finding(key, f"no such mode as {mode!r}", f"one of modes: {one_of(sheet.modes)}", cure)
    for mode in dict.fromkeys(sheet.modes):
        if mode not in dict(uses):
            cure = f"Give a surface a throw in {mode!r}, or take it out of modes"
            yield Finding(("modes",), f"nothing to check in mode {mode!r}", "a throw or a preset", cure)


def _sides(key: Key, surface: Surface) -> Iterator[Finding]:
    sides = surface.sides
    if set(sides) not in _SIDES or len(set(sides)) < len(sides):
        expected = '["left", "right"], one of the two, or ["middle"] for one piece'
        yield Finding((*key, "sides"), f"found {list(sides)}", expected, 'Write sides = ["left", "right"]')


def _tables(key: Key, surface: Surface) -> Iterator[Finding]:
    kind = KINDS[surface.kind]
    for table, travels in surface.travels().items():
        if travels and table not in kind.tables:
            expected = f"{one_of(kind.tables)} on this kind, {surface.kind}"
            yield Finding((*key, table), f"found {table}", expected, f"Rename the table to {kind.tables[0]}")
        for mode, travel in travels.items():
            yield from _travel((*key, table, mode), travel, kind.directions, surface.kind)


def _travel(key: Key, travel: Travel, directions: tuple[str, str], kind: str) -> Iterator[Finding]:
    given = [name for name in ("up", "down", "left", "right") if getattr(travel, name)]
    for direction in given:
        if direction not in directions:
            cure = f"Write {directions[0]} or {directions[1]}"
            yield Finding(
                (*key, direction), f"found {direction}", f"{one_of(directions)} on this kind, {kind}", cure
            )
    if not given:
        example = f'Write {{ {directions[0]} = "10 mm", {directions[1]} = "10 mm" }}'
        yield Finding(key, "no throw", f"{directions[0]}, {directions[1]} or both", example)
    if travel.differential_percent is not None and (travel.down or not travel.up):
        found = "differential beside down" if travel.down else "differential without up"
        cure = "Take one of the two out" if travel.down else 'Add up = "10 mm"'
        yield Finding((*key, "differential"), found, "up with either down or differential", cure)


def _geometry(key: Key, surface: Surface) -> Iterator[Finding]:
    chord_mm = surface.chord_mm
    if surface.neutral.faired and surface.neutral.level_deg is not None:
        yield Finding((*key, "neutral"), "faired beside level", "one of the two", "Take one of them out")
    if surface.strip and chord_mm is None:
        yield Finding((*key, "chord"), "missing", "the chord that strip goes with", 'Add chord = "45 mm"')
    if surface.strip and chord_mm and surface.strip.wing_chord_mm < chord_mm:
        found = f"found {surface.strip.wing_chord_mm:g} mm"
        expected = f"at least the surface's own chord, {chord_mm:g} mm"
        yield Finding((*key, "strip", "wing_chord"), found, expected, "Measure from the wing's leading edge")
    if surface.counterbalance_mm and chord_mm and surface.counterbalance_mm >= chord_mm:
        found = f"found {surface.counterbalance_mm:g} mm"
        expected = f"less than the chord, {chord_mm:g} mm"
        yield Finding((*key, "counterbalance"), found, expected, "Measure forward from the hinge axis")


def _linkage(key: Key, linkage: Linkage) -> Iterator[Finding]:
    together = {"arm": linkage.arm_mm, "rod": linkage.rod_mm, "horn_side": linkage.horn_side}
    missing = [name for name, value in together.items() if value is None]
    if 0 < len(missing) < len(together):
        cure = f"Add {' and '.join(missing)}, or take {'these' if len(missing) == 1 else 'it'} out"
        yield Finding(
            key, f"{' and '.join(missing)} missing", "arm, rod and horn_side together or none", cure
        )


def _presets(sheet: Sheet) -> Iterator[Finding]:
    for mode, presets in sheet.presets.items():
        for command, positions in presets.items():
            key: Key = ("preset", mode, command)
            if not positions:
                yield Finding(
                    key, "no position", "a position of a surface", 'Add a line such as flap = "2 mm down"'
                )
            for name, position in positions.items():
                if name not in sheet.surfaces:
                    expected, cure = one_of(tuple(sheet.surfaces)), nearest(name, sheet.surfaces)
                    yield Finding((*key, name), "no such surface", expected, cure or "Take it out")
                elif position.direction not in ("", *KINDS[sheet.surfaces[name].kind].directions):
                    expected = one_of(KINDS[sheet.surfaces[name].kind].directions)
                    yield Finding(
                        (*key, name), f"found {position}", expected, f"Write {expected} behind the figure"
                    )


def _lengths(sheet: Sheet) -> Iterator[Finding]:
    """Yield what lengths lack a chord to be converted with, and what lengths are longer than it allows."""
    for name, surface in sheet.surfaces.items():
        lengths = {key: measure for key, measure in _measures(sheet, name, surface) if measure.linear}
        if surface.chord_mm is None:
            if lengths:
                key, measure = next(iter(lengths.items()))
                expected = f"the chord that {measure} of {dotted(key)} is measured at"
                yield Finding(
                    ("surface", name, "chord"), "missing", expected, 'Add chord = "45 mm", as measured'
                )
            continue
        convention = surface.convention or sheet.convention
        farthest_mm = travel_mm(_FARTHEST_DEG, surface.chord_mm, convention)
        for key, measure in lengths.items():
            if abs(measure.mm) > farthest_mm:
                found = f"found {measure} at a chord of {surface.chord_mm:g} mm"
                expected = f"at most {farthest_mm:.4g} mm, which is {_FARTHEST_DEG:g}° by {convention}"
                yield Finding(key, found, expected, "Measure the chord again, or correct the figure")


def _measures(sheet: Sheet, name: str, surface: Surface) -> Iterator[tuple[Key, Measure]]:
    """Yield every target and tolerance of a surface with its key."""
    key: Key = ("surface", name)
    for table, travels in surface.travels().items():
        for mode, travel in travels.items():
            for direction, measure in travel.signed().items():
                yield (*key, table, mode, direction), measure
    for mode, presets in sheet.presets.items():
        for command, positions in presets.items():
            if name in positions:
                yield ("preset", mode, command, name), positions[name]
    if surface.neutral.faired:
        yield (*key, "neutral", "faired"), surface.neutral.faired
    for tolerance in get_args(ToleranceName):
        owner: Key = (*key, "tolerances") if getattr(surface.tolerances, tolerance) else ("tolerances",)
        yield (*owner, tolerance), sheet.tolerance(name, tolerance)
