"""Runs that version 1 recorded give the results that it printed of them, through the table of old words and new."""

import json
import lzma
import math
from pathlib import Path
from typing import Any

import pytest
from tests.host.person import at_the_desk

from hingeline.storage.old_words import SIDES, renew
from hingeline.storage.records import happenings

DATA = Path(__file__).parents[2] / "data"
REPLAYS = DATA / "replays"
SHEET = DATA / "formats" / "1" / "lantern.rig.toml"
PROSE = {"advice", "reason", "effect", "notes", "candidates", "causes", "text", "call", "note", "limited_by"}
"""Keys of sentences, which are worded anew."""
OTHER_READINGS_DEG = 0.03
"""Version 1 at times took a still sensor for moving, or learned its noise anew, and saw a rest later: such readings
agree within their noise. So do those that are counted from the hinges found, and from the fixed part about them."""
FEW = {"hinges": 5, "differential": 8}
"""What hangs on several readings, or on their ratio, is by so much wider: a hinge from three rests is known to 0.5°."""
INTERVALS = ("interval_95", "interval_95_deg", "interval_95_mm")
MAY_GROW = (
    *(f"standard_uncertainty{unit}" for unit in ("", "_deg", "_mm")),
    *("yaw_sd_deg", "elevation_sd_deg", "hinge axis"),
)
"""Version 1 promised too much where the tape enters an angle from the datum, of a hinge from few rests, and of how far
a chip's readings repeat."""
FALSE_HINGES = {"throws-cycles"}
"""Version 1 saw sensors 31° askew where none was: it fitted the noise of three rests at one place."""
OF_OTHER_READINGS = {
    "2026-05-17_10-03-20",
    "2026-05-17_10-12-24",
    "centring",
    "play",
    "throws-opposed",
    "hinge",
    "throws",
    "throws-fixed",
}


def differences(before: Any, now: Any, within: float, path: str = "") -> list[str]:
    """List where what version 1 printed is not what is printed now; what is new is no difference."""
    if isinstance(before, dict) and isinstance(now, dict):
        return [
            text
            for key, value in before.items()
            if key not in PROSE
            for text in (
                differences(value, now[key], FEW.get(key, 1) * within, f"{path}/{key}")
                if key in now
                else [f"{path}/{key} is gone"]
            )
        ]
    if path.endswith(INTERVALS):
        return [] if now[0] <= before[0] + within + 1e-4 and now[1] >= before[1] - within - 1e-4 else [f"{path}: {now}"]
    if path.endswith(MAY_GROW) and now > before:
        return []
    if isinstance(before, list) and isinstance(now, list):
        pairs = enumerate(zip(before, now, strict=False))
        uneven = [] if len(before) == len(now) else [f"{path}: {len(before)} and {len(now)} of them"]
        return uneven + [text for at, pair in pairs for text in differences(*pair, within, f"{path}/{at}")]
    if isinstance(before, float | int) and isinstance(now, float | int) and not isinstance(before, bool):
        decimals = len(str(before).partition(".")[2])  # version 1 rounded to two to four, version 2 to four
        rounded = 0.51 * 10 ** -min(decimals, 4) + 1e-4
        same = math.isclose(before, now, rel_tol=0, abs_tol=max(within, rounded))
    else:
        same = before == now
    return [] if same else [f"{path}: {before!r} and {now!r}"]


def recorded(name: str, tmp_path: Path) -> tuple[Path, Path]:
    """Return the folder of a run as version 1 recorded it, and the rigging sheet it was measured by."""
    packed = REPLAYS / f"{name}.log.xz"
    if not packed.exists():
        return DATA / "visits" / "sessions" / "Moss-Lantern" / name, SHEET
    path = tmp_path / "session.log"
    path.write_bytes(lzma.decompress(packed.read_bytes()))
    (text,) = (event.fields["payload"]["text"] for event in happenings(path) if event.fields.get("name") == "sheet")
    sheet = tmp_path / "sheet.rig.toml"
    sheet.write_text(text, encoding="utf-8")
    return tmp_path, sheet


@pytest.mark.parametrize("name", sorted(path.stem for path in REPLAYS.glob("*.json")))
def test_a_run_of_version_1_gives_what_version_1_printed(name, tmp_path):
    before = json.loads((REPLAYS / f"{name}.json").read_text())
    folder, sheet = recorded(name, tmp_path)
    of_surface = [before["surface"]] if before["surface"] else []
    arguments = (before["command"], str(sheet), *of_surface, "--json", "--replay", str(folder))
    outcome = at_the_desk(tmp_path / "empty", *arguments)
    data = outcome.data
    _, printed = renew(before["command"], before["printed"])
    for surface, readings in printed.get("surfaces", {}).items():
        kind = "throw" if before["command"] == "throws" else before["command"]
        printed["surfaces"][surface] = [renew(kind, reading)[1] for reading in readings]
        judgements = (each for reading in printed["surfaces"][surface] for each in reading.get("judgements", ()))
        if any(each.get("wrong") for each in judgements if each["name"] in SIDES):
            printed["summaries"][surface]["differential"] = []  # version 1 made one of angles it knew to be wrong
    if before["command"] == "centring":  # version 1 told the range of the returns for their spread
        kept = [at for at, each in enumerate(printed["results"]) if "spread" not in each["name"]]
        printed["results"], data["results"] = (
            [results[at] for at in kept] for results in (printed["results"], data["results"])
        )
    if name in FALSE_HINGES:
        printed["hinges"] = {}
    assert outcome.status == before["status"]
    within = OTHER_READINGS_DEG if name in OF_OTHER_READINGS else 0.0
    assert differences(printed, {**data, "schema_version": 1}, within) == []
