"""What is wrong between keys of a sheet that are each right."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

from hingeline.rig.kinds import KINDS, KindName
from hingeline.rig.quantities import Measure
from hingeline.rig.sheet import Sheet
from hingeline.rig.surface import Linkage, Surface, Travel
from hingeline.rig.tolerances import ToleranceName
from hingeline.rig.toml_mistakes import Key, KeyMistake, dotted, nearest, one_of
from hingeline_calibration.travel import travel_mm

_FARTHEST_DEG = 90.0
_SIDES = (["left"], ["left", "right"], ["middle"], ["right"])


def contradictions(sheet: Sheet) -> Iterator[KeyMistake]:
    """Yield every contradiction of the sheet."""
    yield from _modes(sheet)
    for name, surface in sheet.surfaces.items():
        key: Key = ("surface", name)
        yield from _tables(key, surface)
        yield from _geometry(key, surface)
        if surface.linkage:
            yield from _linkage((*key, "linkage"), surface.linkage)
        yield from _lengths(sheet, key, surface)
    yield from _presets(sheet)


def _modes(sheet: Sheet) -> Iterator[KeyMistake]:
    key: Key = ("modes",)
    if not sheet.modes:
        yield KeyMistake(key, "found []", "at least one rate or flight mode", 'Write modes = ["normal"]')
    for mode in sorted({mode for mode in sheet.modes if sheet.modes.count(mode) > 1}):
        yield KeyMistake(key, f"{mode!r} more than once", "each mode once", "Take the others out")
    uses: list[Key] = [
        ("surface", name, table, mode)
        for name, surface in sheet.surfaces.items()
        for table, mode, _ in surface.each_travel()
    ]
    uses += [("preset", mode) for mode in sheet.presets]
    for use in uses:
        mode = str(use[-1])
        if mode not in sheet.modes:
            cure = nearest(mode, sheet.modes) or f"Add {mode!r} to modes"
            yield KeyMistake(use, f"no such mode as {mode!r}", f"one of modes: {one_of(sheet.modes)}", cure)
    used = {use[-1] for use in uses}
    for mode in dict.fromkeys(mode for mode in sheet.modes if mode not in used):
        cure = f"Give a surface a throw in {mode!r}, or take it out of modes"
        yield KeyMistake(key, f"nothing to check in mode {mode!r}", "a throw or a preset", cure)


def _tables(key: Key, surface: Surface) -> Iterator[KeyMistake]:
    kind = KINDS[surface.kind]
    if sorted(surface.sides) not in _SIDES:
        expected = '["left", "right"], one of the two, or ["middle"] for one piece'
        content, cure = f"found {list(surface.sides)}", 'Write sides = ["left", "right"]'
        yield KeyMistake((*key, "sides"), content, expected, cure)
    for table, travels in surface.travels().items():
        if travels and table not in kind.tables:
            expected = f"{one_of(kind.tables)} on this kind, {surface.kind}"
            yield KeyMistake((*key, table), f"found {table}", expected, f"Rename the table to {kind.tables[0]}")
    for table, mode, travel in surface.each_travel():
        yield from _travel((*key, table, mode), travel, surface.kind)


def _travel(key: Key, travel: Travel, kind: KindName) -> Iterator[KeyMistake]:
    first, second = directions = KINDS[kind].directions
    given = [name for name in ("up", "down", "left", "right") if getattr(travel, name)]
    for direction in given:
        if direction not in directions:
            expected = f"{one_of(directions)} on this kind, {kind}"
            yield KeyMistake((*key, direction), f"found {direction}", expected, f"Write {first} or {second}")
    if not given:
        cure = f'Write {{ {first} = "10 mm", {second} = "10 mm" }}'
        yield KeyMistake(key, "no throw", f"{first}, {second} or both", cure)
    if travel.differential_percent is not None and (travel.down or not travel.up):
        content, cure = (
            ("beside down", "Take one of the two out") if travel.down else ("without up", 'Add up = "10 mm"')
        )
        expected = "up with either down or differential"
        yield KeyMistake((*key, "differential"), f"differential {content}", expected, cure)


def _geometry(key: Key, surface: Surface) -> Iterator[KeyMistake]:
    chord_mm, strip, balance_mm = surface.chord_mm, surface.strip, surface.counterbalance_mm
    if surface.neutral.faired and surface.neutral.level_deg is not None:
        yield KeyMistake((*key, "neutral"), "faired beside level", "one of the two", "Take one of them out")
    if strip and chord_mm is None:
        yield KeyMistake((*key, "chord"), "missing", "the chord that strip goes with", 'Add chord = "45 mm"')
    if strip and chord_mm and strip.wing_chord_mm < chord_mm:
        content, expected = f"found {strip.wing_chord_mm:g} mm", f"at least the surface's own chord, {chord_mm:g} mm"
        yield KeyMistake((*key, "strip", "wing_chord"), content, expected, "Measure from the wing's leading edge")
    if balance_mm and chord_mm and balance_mm >= chord_mm:
        content, expected = f"found {balance_mm:g} mm", f"less than the chord, {chord_mm:g} mm"
        yield KeyMistake((*key, "counterbalance"), content, expected, "Measure forward from the hinge axis")


def _linkage(key: Key, linkage: Linkage) -> Iterator[KeyMistake]:
    together = {"arm": linkage.arm_mm, "rod": linkage.rod_mm, "horn_side": linkage.horn_side}
    missing = [name for name, value in together.items() if value is None]
    if 0 < len(missing) < len(together):
        names = " and ".join(missing)
        cure = f"Add {names}, or take {'these' if len(missing) == 1 else 'it'} out"
        yield KeyMistake(key, f"{names} missing", "arm, rod and horn_side together or none", cure)


def _presets(sheet: Sheet) -> Iterator[KeyMistake]:
    for mode, presets in sheet.presets.items():
        for command, positions in presets.items():
            key: Key = ("preset", mode, command)
            if not positions:
                yield KeyMistake(key, "no position", "a position of a surface", 'Add a line such as flap = "2 mm down"')
            for name, position in positions.items():
                if name not in sheet.surfaces:
                    cure = nearest(name, sheet.surfaces) or "Take it out"
                    yield KeyMistake((*key, name), "no such surface", one_of(sheet.surfaces.keys()), cure)
                elif position.direction not in ("", *(known := KINDS[sheet.surfaces[name].kind].directions)):
                    expected = one_of(known)
                    cure = f"Write {expected} behind the figure"
                    yield KeyMistake((*key, name), f"found {position}", expected, cure)


def _lengths(sheet: Sheet, key: Key, surface: Surface) -> Iterator[KeyMistake]:
    """Yield lengths without a chord to convert them with, and lengths that are longer than it allows."""
    lengths = {key: measure for key, measure in _measures(sheet, key, surface) if measure.linear}
    if surface.chord_mm is None:
        for at, measure in [*lengths.items()][:1]:
            expected = f"the chord that {measure} of {dotted(at)} is measured at"
            yield KeyMistake((*key, "chord"), "missing", expected, 'Add chord = "45 mm", as measured')
        return
    convention = sheet.convention_of(surface)
    farthest_mm = travel_mm(_FARTHEST_DEG, surface.chord_mm, convention)
    for at, measure in lengths.items():
        if abs(measure.mm) > farthest_mm:
            content = f"found {measure} at a chord of {surface.chord_mm:g} mm"
            expected = f"at most {farthest_mm:.4g} mm, which is {_FARTHEST_DEG:g}° by {convention}"
            yield KeyMistake(at, content, expected, "Measure the chord again, or correct the figure")


def _measures(sheet: Sheet, key: Key, surface: Surface) -> Iterator[tuple[Key, Measure]]:
    """Yield every target and tolerance of a surface with its key."""
    name = str(key[-1])
    for table, mode, travel in surface.each_travel():
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
