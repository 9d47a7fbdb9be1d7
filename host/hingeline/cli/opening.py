"""The start of a command's visit to the sensors, live or recorded: the same commands measure on both.

Live, boards are opened and stream, every line is recorded, and so is all that a replay needs: the choices of the
command, what was loaded from the store, and where the user was waited for.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hingeline.cli.live import Bench, LiveOptions, stopped, views
from hingeline.cli.screen import Screen
from hingeline.cli.told import choices_of, first_event, pressed
from hingeline.cli.visit import KEY, Visit
from hingeline.device.link.decoder import Line
from hingeline.device.link.fleet import Fleet
from hingeline.device.link.merge import Mark
from hingeline.device.link.replay import Replay
from hingeline.errors import StoreError, UsageProblem
from hingeline.live.stage import Stage
from hingeline.storage.copies import check_copies
from hingeline.storage.journal import Journal
from hingeline.storage.keys import open_fleet
from hingeline.storage.records import Happening, read
from hingeline.storage.runs import run_of
from hingeline.storage.session_store import LOADED, SHEET, RecordedStore, WitnessedStore
from hingeline.storage.sessions import begin_run
from hingeline.storage.store import Store

if TYPE_CHECKING:
    from hingeline.rig.sheet import Sheet

RESUMED = "resumed"
"""The kind of event after which the user, who was waited for, goes on."""
UNCALIBRATED = ("calibrate", "noise", "wiggle")
"""Commands that do without calibrations."""


@contextmanager
def visit(
    screen: Screen,
    ports: Sequence[str],
    aircraft: str,
    command: str,
    replay: Path | None = None,
    *,
    sheet: Sheet | None = None,
    live: LiveOptions | None = None,
    **choices: Any,
) -> Iterator[Visit]:
    """Open the boards, let them stream and record every line while the context lasts; or open the session `replay`.

    The text of the `sheet` that is measured by is recorded live. `live` tells how what is measured is shown.
    `choices` are what the command was told that decides how it goes: recorded live, taken from the recording of a
    replay. Unless the command does without calibrations, the copies of boards and store have to agree.

    Raises
    ------
    HingelineError
        See `Fleet`, `Recorder` and `keeping.agree`.
    UsageProblem
        The session to replay is of another command, aircraft or surface.
    """
    if replay is not None:
        yield _recorded(screen, replay, aircraft, command, choices)
        return
    with open_fleet(Store(), ports) as fleet:
        if command not in UNCALIBRATED:
            check_copies(Store(), fleet, screen.say)
        with begin_run(Store().root, aircraft, command, asks=screen.asks, choices=choices) as recorder:
            try:
                screen.say(f"Recording in {recorder.path}")
                journal = Journal(recorder, partial(_unrecorded, screen, fleet))
                if sheet is not None:
                    journal.event(LOADED, name=SHEET, key=sheet.aircraft, payload={"text": sheet.text})
                fleet.record(journal.lines)
                stage = Stage()
                with views(screen, stage, live) as bench:
                    fleet.start()
                    yield _live(screen, fleet, journal, choices, bench=bench, stage=stage)
            except KeyboardInterrupt:
                raise stopped("Interrupted") from None
            finally:
                fleet.record_no_more()


def _unrecorded(screen: Screen, fleet: Fleet, problem: StoreError) -> None:
    """Tell in the measuring thread: a reading thread has the failure first, and must not wait for a terminal."""
    screen.owe(problem)
    text = f"Not recorded from here on: {problem} What is measured is shown all the same."
    fleet.defer(lambda: screen.say(text))


def _live(
    screen: Screen,
    fleet: Fleet,
    journal: Journal,
    choices: Mapping[str, Any],
    *,
    bench: Bench,
    stage: Stage,
) -> Visit:
    def wait(text: str) -> None:
        fleet.drop_until_mark()
        if bench.keys:
            asked = f"{text} any key; nothing is measured before"
            stage.ask(asked)
            screen.say(asked)
            bench.wait(stage.swap_units)
        else:
            screen.enter(text)
        fleet.mark(lambda: journal.event(RESUMED))

    store = WitnessedStore(journal)
    return Visit(
        store, fleet, screen, journal.event, journal.started, screen.asks, choices, bench, stage, wait
    )


def _recorded(screen: Screen, folder: Path, aircraft: str, command: str, choices: Mapping[str, Any]) -> Visit:
    path = run_of(folder, command, choices.get("surface"))
    happenings = [record for record in read(path) if isinstance(record, Happening)]
    session = first_event(path, happenings)
    for what, was, now in (
        ("command", session.get("command"), command),
        ("aircraft", session.get("aircraft"), aircraft),
        ("surface", session["choices"].get("surface"), choices.get("surface")),
    ):
        if was != now:
            raise UsageProblem(
                f"The run {path} is of the {what} {was or 'all'}, not of {now or 'all'}",
                "Replay it with the command, the rigging sheet and the surface that it was recorded with",
            )
    replay = Replay(
        record if isinstance(record, Line) else Mark()
        for record in read(path)
        if isinstance(record, Line) or record.kind == RESUMED
    )

    def wait(text: str) -> None:
        screen.say(text)
        replay.skip()

    return Visit(
        RecordedStore(path, happenings),
        replay,
        screen,
        lambda kind, **fields: None,
        session["started"],
        session["asks"],
        choices_of(path, session["choices"], choices),
        Bench(),
        Stage(),
        wait,
        _replayed=deque(pressed(path, one) for one in happenings if one.kind == KEY),
    )
