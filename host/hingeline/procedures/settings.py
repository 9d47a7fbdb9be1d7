"""The present settings of a surface in the transmitter: told once by the person, kept for the session."""

from __future__ import annotations

from collections.abc import Mapping

from hingeline.checks.settings import names_of
from hingeline.errors import UsageProblem
from hingeline.procedures.runner import Runner
from hingeline.rig.sheet import Sheet, known_name
from hingeline.storage.clock import is_of_session

_DATE = "date"
_MOST_PERCENT = 200.0


def settings_now(runner: Runner, sheet: Sheet, surface: str) -> dict[str, float]:
    """By name, what settings stand at: as `--now` says, else as it was said earlier in this session.

    Raises `UsageProblem` (what was said can't be read), `SheetError` (it names no surface), `StoreError`.
    """
    key = f"settings of {sheet.aircraft}, {surface}"
    given = dict(_read(runner.choices.get("now") or "", sheet).get(surface, {}))
    known = names_of(sheet, surface)
    for name in given:
        if name not in known:
            raise UsageProblem(f"--now: no setting {name!r} on the {surface}", f"Name one of: {', '.join(known)}")
    kept = runner.store.find("settings", key) or {}
    if not is_of_session(runner.store, str(kept.get(_DATE, "")), runner.started):
        kept = {}
    now_percent: dict[str, float] = {name: float(kept[name]) for name in known if name in kept} | given
    if given:
        runner.save(lambda: runner.store.save("settings", key, {**now_percent, _DATE: runner.started}))
    return now_percent


def _read(text: str, sheet: Sheet) -> Mapping[str, Mapping[str, float]]:
    """By surface and name, in per cent: `aileron low rate=60, flap left end point up=93`."""
    settings: dict[str, dict[str, float]] = {}
    for part in filter(None, map(str.strip, text.split(","))):
        words, _, percent = part.rpartition("=")
        surface = next((name for name in sheet.surfaces if words.startswith(f"{name} ")), words.split(" ")[0])
        known_name(surface, "surface", sheet.surfaces)
        try:
            value = float(percent.strip().removesuffix("%"))
        except ValueError:
            value = 0.0
        if not 0 < value <= _MOST_PERCENT:
            raise UsageProblem(
                f"--now: found {part!r}, expected a surface, a setting and its per cent",
                f"Write it as `{surface} left end point up=93`",
            )
        settings.setdefault(surface, {})[words.removeprefix(surface).strip()] = value
    return settings
