"""The search for the fewest settings that cure a surface, in the order in which an experienced builder thinks.

Each set of a few settings is solved by least squares, all sets of one size at once. Of those that bring most rows
within the tolerance and spoil none, the one that costs least is taken. The order is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from math import exp, inf, log

import numpy as np
import numpy.typing as npt

from hingeline.advice.settings import (
    END_POINT_LIMIT_PERCENT,
    NOW_PERCENT,
    RATE_LIMIT_PERCENT,
    Change,
    Cures,
    Row,
    Setting,
)
from hingeline.units import Side

_MOST_AT_ONCE = 3
_STEPS = 3
_ENDS = ("end point", "end points")
_MOST_LOG = 3.0
_BEYOND_COSTS = 2.0
"""A setting past its limit: so much more it costs than one within."""
_Array = npt.NDArray[np.float64]


def find_cures(rows: Sequence[Row], now_percent: Mapping[str, float] | None = None) -> Cures:
    """The fewest settings that bring every row that was read within its tolerance, and no row out of it.

    `now_percent` tells, by name, what settings stand at. Rows that went the wrong way belong to the unread ones.
    """
    now_percent = now_percent or {}
    read = [row for row in rows if row.measured_deg is not None and row.measured_deg * row.wanted_deg > 0]
    unread = tuple(row for row in rows if row not in read)
    problem = _Problem(read, tuple(settings_of(rows)), now_percent)
    chosen = problem.solve()
    changes = tuple(
        change
        for setting, amount in chosen.items()
        for part in _parts(setting, read)
        for change in [_change(part, amount, read, now_percent)]
        if not setting.multiplies or change.new_percent != change.now_percent
    )
    out = problem.out(problem.after(chosen))
    return Cures(changes, tuple(row for row, is_out in zip(read, out, strict=True) if is_out), unread)


def _parts(setting: Setting, read: Sequence[Row]) -> list[Setting]:
    """What is turned for a setting: of both end points, each."""
    if setting.kind != "end points":
        return [setting]
    ways = _ways([row for row in read if setting.drives(row)])
    return [setting._replace(kind="end point", direction=way) for way in ways]


def _change(setting: Setting, amount: float, read: Sequence[Row], now_percent: Mapping[str, float]) -> Change:
    driven = sorted(filter(setting.drives, read), key=lambda row: -abs(row.measured_deg or 0.0))
    return Change(setting, amount, tuple(driven), now_percent.get(setting.name, NOW_PERCENT))


def settings_of(rows: Sequence[Row]) -> Iterator[Setting]:
    """Yield every setting that a transmitter and a linkage have for these rows, where it can be told from others."""
    throws = [row for row in rows if not row.is_preset]
    sides = list(dict.fromkeys(row.side for row in rows))
    functions = list(dict.fromkeys(row.function for row in throws))
    for side in sides:
        yield Setting("end points", 1.05, side)
        yield from (Setting("end point", 1.0, side, direction=way) for way in _ways(rows))
        own = [row for row in rows if row.side == side and row.measured_deg is not None]
        if len(_ways(own)) > 1 and len({(row.function, row.mode) for row in own}) > 1:
            yield Setting("linkage", 2.5, side)
            yield Setting("neutral", 2.6, side)
    for function in functions:
        own = [row for row in throws if row.function == function]
        modes = list(dict.fromkeys(row.mode for row in own))
        if len(functions) > 1:
            yield from _mixes(function, sides, _ways(own))
        for mode in modes if len(modes) > 1 else []:
            yield Setting("rate", 1.1, function=function, mode=mode)
            yield from (Setting("differential", 1.3, "", function, mode, way) for way in _ways(own))
            yield from (Setting("mix", 1.6, side, function, mode) for side in sides if len(sides) > 1)
    for preset, mode in dict.fromkeys((row.function, row.mode) for row in rows if row.is_preset):
        yield Setting("mix", 0.9, "", preset, mode)
        yield from (Setting("mix", 0.95, side, preset, mode) for side in sides if len(sides) > 1)


def _ways(rows: Sequence[Row]) -> list[str]:
    return list(dict.fromkeys(row.direction for row in rows))


def _mixes(function: str, sides: Sequence[Side], ways: Sequence[str]) -> Iterator[Setting]:
    yield Setting("mix", 1.1, function=function)
    yield from (Setting("differential", 1.2, function=function, direction=way) for way in ways)
    for side in sides if len(sides) > 1 else []:
        yield Setting("mix", 1.2, side, function)
        yield from (Setting("mix", 1.4, side, function, direction=way) for way in ways)


class _Problem:
    """Rows and settings as arrays; a solution is a factor, or what adds, by setting."""

    def __init__(self, rows: Sequence[Row], settings: Sequence[Setting], now_percent: Mapping[str, float]) -> None:
        self._measured_deg = np.array([row.measured_deg for row in rows], dtype=float)
        self._wanted_deg = np.array([row.wanted_deg for row in rows])
        self._tolerance_deg = np.array([row.tolerance_deg for row in rows])
        self._is_preset = np.array([row.is_preset for row in rows], dtype=bool)
        place = {(row.function, row.mode, row.direction, row.side): index for index, row in enumerate(rows)}
        self._pairs = [
            (index, other, rows[index].match_deg)
            for (function, mode, way, side), index in place.items()
            if side == "left" and (other := place.get((function, mode, way, "right"))) is not None
        ]
        self._settings = [setting for setting in settings if any(setting.drives(row) for row in rows)]
        self._effects = np.array([[setting.effect(row) for setting in self._settings] for row in rows])
        self._effects = self._effects.reshape(len(rows), len(self._settings))
        self._multiplies = np.array([setting.multiplies for setting in self._settings], dtype=bool)
        self._limits = np.array([_limit(setting, now_percent) for setting in self._settings])

    def after(self, solution: Mapping[Setting, float]) -> _Array:
        """The throws (rows,) once it is followed."""
        sets = np.array([[self._settings.index(setting) for setting in solution]], dtype=int)
        amounts = [[log(amount) if setting.multiplies else amount for setting, amount in solution.items()]]
        deg: _Array = self._moved(sets, np.array(amounts))[0].sum(axis=0)
        return deg

    def out(self, deg: _Array) -> npt.NDArray[np.bool_]:
        """Which rows are out of tolerance, against their target or against the other side's; (..., rows)."""
        gaps = np.abs(deg - self._wanted_deg)
        out: npt.NDArray[np.bool_] = gaps > self._tolerance_deg
        for left, right, match_deg in self._pairs:
            apart = (np.abs(deg[..., left] - deg[..., right]) > match_deg) & ~out[..., left] & ~out[..., right]
            is_left = gaps[..., left] > gaps[..., right]
            out[..., left] |= apart & is_left
            out[..., right] |= apart & ~is_left
        return out

    def solve(self) -> dict[Setting, float]:
        """The settings to turn: a few at once, then further ones where that leaves rows out of tolerance."""
        chosen: tuple[int, ...] = ()
        if not len(self._measured_deg):
            return {}
        left_out = self._score(np.array([[]], dtype=int))[0][0]
        while left_out >= 1:
            best = self._best(chosen)
            if best is None or best[1] >= left_out:
                break
            chosen, left_out = best
        units = self._units(np.array([chosen], dtype=int))[0] if chosen else []
        return {
            self._settings[index]: exp(unit) if self._settings[index].multiplies else float(unit)
            for index, unit in zip(chosen, units, strict=True)
        }

    def _best(self, chosen: tuple[int, ...]) -> tuple[tuple[int, ...], float] | None:
        """The best few settings beside those that are chosen, and how many rows they leave out of tolerance.

        A setting is thought of that moves a row which is out, and the mix of a preset that another one would spoil.
        """
        drives = self._effects != 0
        curing = drives[self.out(self._measured_deg)].any(axis=0)
        moved = drives[:, curing].any(axis=1)
        restoring = drives[moved & self._is_preset].any(axis=0) & ~drives[~self._is_preset].any(axis=0)
        useful = [int(index) for index in np.flatnonzero(curing | restoring) if index not in chosen]
        best: tuple[float, float, tuple[int, ...]] | None = None
        for count in range(1, _MOST_AT_ONCE + 1):
            sets = np.array(
                [(*chosen, *more) for more in combinations(useful, count) if not self._overlap((*chosen, *more))],
                dtype=int,
            )
            if not len(sets):
                break
            left_out, score = self._score(sets)
            first = min(range(len(sets)), key=lambda index: (left_out[index], score[index]))
            candidate = (float(left_out[first]), float(score[first]), tuple(int(i) for i in sets[first]))
            best = candidate if best is None or candidate < best else best
        return None if best is None or not np.isfinite(best[1]) else (best[2], best[0])

    def _overlap(self, indices: Iterable[int]) -> bool:
        """Whether a servo would have both its end points and one of them in the set."""
        ends = {(setting.side, setting.kind) for i in indices if (setting := self._settings[i]).kind in _ENDS}
        return len({side for side, _ in ends}) < len(ends)

    def _score(self, sets: npt.NDArray[np.int_]) -> tuple[_Array, _Array]:
        """Of sets of settings (N, count): rows left out of tolerance, and what they cost with the rest of the gaps.

        A set that spoils a row counts as infinitely bad.
        """
        units = self._units(sets)
        deg = self._moved(sets, units).sum(axis=1)
        was_out, out = self.out(self._measured_deg), self.out(deg)
        gaps = (deg - self._wanted_deg) / self._tolerance_deg
        cost = np.array([setting.cost for setting in self._settings])[sets].sum(axis=1)
        beyond = (units > self._limits[sets]).sum(axis=1)
        spoils = (out & ~was_out).any(axis=1)
        score = np.where(spoils, inf, cost + _BEYOND_COSTS * beyond + (gaps**2).sum(axis=1))
        return np.where(spoils, inf, out.sum(axis=1)), score

    def _units(self, sets: npt.NDArray[np.int_]) -> _Array:
        """The least-squares solution (N, count) of each set, every gap against its tolerance, by Gauss and Newton."""
        units = np.zeros(sets.shape)
        effects = np.moveaxis(self._effects[:, sets], 0, 1) / self._tolerance_deg[:, None]  # (N, rows, count)
        ridge = 1e-9 * np.eye(sets.shape[1])
        for _ in range(_STEPS):
            multiplied, added = np.moveaxis(self._moved(sets, units), 1, 0)
            slopes = np.where(self._multiplies[sets][:, None, :], multiplied[..., None], 1.0) * effects
            gaps = (self._wanted_deg - multiplied - added) / self._tolerance_deg
            scale = np.sqrt(np.einsum("nrc,nrc->nc", slopes, slopes))
            slopes /= scale[:, None, :]
            normal = np.einsum("nrc,nrd->ncd", slopes, slopes) + ridge
            units += np.linalg.solve(normal, np.einsum("nrc,nr->nc", slopes, gaps)[..., None])[..., 0] / scale
        return units

    def _moved(self, sets: npt.NDArray[np.int_], units: _Array) -> _Array:
        """The throws (N, 2, rows): what is multiplied, and what is added."""
        effects, multiplies = np.moveaxis(self._effects[:, sets], 0, 1), self._multiplies[sets]
        logs = np.einsum("nrc,nc->nr", effects, np.where(multiplies, units, 0.0))
        added_deg = np.einsum("nrc,nc->nr", effects, np.where(multiplies, 0.0, units))
        return np.stack([self._measured_deg * np.exp(np.clip(logs, -_MOST_LOG, _MOST_LOG)), added_deg], axis=1)


def _limit(setting: Setting, now_percent: Mapping[str, float]) -> float:
    """The logarithm of the greatest factor of a setting; not known of a rate or mix that nobody told of."""
    if setting.kind in _ENDS:
        ends = [percent for name, percent in now_percent.items() if setting.name in name]
        return log(END_POINT_LIMIT_PERCENT / max(ends, default=NOW_PERCENT))
    known = now_percent.get(setting.name)
    return inf if known is None else log(RATE_LIMIT_PERCENT / known)
