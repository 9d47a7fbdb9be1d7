"""Everything that hingeline saves, each as it is done: what is there before, the save, and what is found after."""

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from hingeline.device.link.decoder import Line
from hingeline.report.paper import write_page, write_pdf
from hingeline.rig import load_sheet
from hingeline.storage.keys import load_key, save_key
from hingeline.storage.records import Happening, read
from hingeline.storage.sessions import all_runs, begin_run
from hingeline.storage.sheets import edit_sheet, new_sheet
from hingeline.storage.store import Store

GOLDEN = Path(__file__).parents[1] / "data" / "formats" / "1"
SENSOR, BOARD = "e66166d8e325-104", "e66166d8e325"
OLD_PAGE, NEW_PAGE = b"<html><head></head>" + b"old " * 9000, b"<html><head></head>" + b"new " * 9000
RENDERER = '#!/bin/sh\nexec /bin/cp "$1" "$2"\n'
"""In place of a program that makes PDF."""


@dataclass(frozen=True)
class Save:
    """One way to save something.

    Attributes
    ----------
    prepare
        Makes what was there before, in an empty folder.
    save
        The save in that folder.
    found
        Returns what is there; raises where it is half.
    """

    prepare: Callable[[Path], None]
    save: Callable[[Path], object]
    found: Callable[[Path], Any]


def _store(root: Path) -> None:
    shutil.copytree(GOLDEN / "home" / "calibration", root / "calibration")
    for kind in ("datum", "settings"):
        shutil.copytree(GOLDEN / "home" / kind, root / kind)
    os.environ["HINGELINE_HOME"] = str(root)


def _later(kind: str, key: str) -> Save:
    def save(root: Path) -> None:
        store = Store(root)
        payload = store.load(kind, key, number=1)
        store.save(kind, key, {**payload, "date": "2026-05-17T10:00:00+00:00"})

    return Save(_store, save, lambda root: Store(root).load(kind, key)["date"])


def _key(root: Path) -> str:
    for path in (root / "settings" / f"key-{BOARD}").glob("*-0002-*"):
        assert path.stat().st_mode & 0o077 == 0, "a key is for its owner's eyes"
    return load_key(Store(root), BOARD)


def _sheet(root: Path) -> None:
    shutil.copy(GOLDEN / "lantern.rig.toml", root)


def _chord(root: Path) -> str:
    load_sheet(root / "lantern.rig.toml")
    return (root / "lantern.rig.toml").read_text(encoding="utf-8")


def _fresh(root: Path) -> str | None:
    path = root / "plover.rig.toml"
    return load_sheet(path).aircraft if path.exists() else None


def _make(root: Path) -> None:
    if not (root / "plover.rig.toml").exists():
        new_sheet(root / "plover.rig.toml", "trainer")


def _renderer(root: Path) -> None:
    folder = root / "bin"
    folder.mkdir()
    (folder / "weasyprint").write_text(RENDERER)
    (folder / "weasyprint").chmod(0o755)
    (root / "page.pdf").write_bytes(OLD_PAGE)


def _print(root: Path) -> None:
    os.environ["PATH"] = str(root / "bin")
    write_pdf(root / "page.pdf", NEW_PAGE)


def _record(root: Path) -> None:
    with begin_run(root, "Moss Lantern", "throws") as recorder:
        for number in range(3):
            recorder.lines([Line("/dev/ttyACM0", number, b"s 104 3 39504833 4 6234 -5989 72063 2200*7490C667")])
            recorder.event("throw", number=number)


def _recorded(root: Path) -> str:
    """Return what kinds of records the longest session has; all that is listed must be readable."""
    left_out = []
    all_runs(root, lambda path, text: left_out.append(text))
    assert not left_out
    kinds = [
        "".join(one.kind[0] if isinstance(one, Happening) else "l" for one in read(path))
        for path in (root / "sessions").glob("*/*/*.log")
    ]
    return max(kinds, key=len, default="")


SAVES = {
    "calibration": _later("calibration", SENSOR),
    "datum": _later("datum", "bench"),
    "key of a board": Save(_store, lambda root: save_key(Store(root), BOARD, bytes(16)), _key),
    "sheet": Save(
        _sheet,
        lambda root: edit_sheet(root / "lantern.rig.toml", ("surface", "flap", "chord"), "77 mm"),
        _chord,
    ),
    "new sheet": Save(lambda root: None, _make, _fresh),
    "report": Save(
        lambda root: write_page(root / "page.html", OLD_PAGE),
        lambda root: write_page(root / "page.html", NEW_PAGE),
        lambda root: (root / "page.html").read_text(),
    ),
    "session": Save(lambda root: None, _record, _recorded),
    "PDF": Save(_renderer, _print, lambda root: (root / "page.pdf").read_text()),
}
"""What is found after a save that was broken off is what was found before, or what is found after one that was not; of
a session, a beginning of it."""
