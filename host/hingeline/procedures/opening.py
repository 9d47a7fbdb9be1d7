"""The start of a run: boards are opened, stream and are recorded, or a recorded run is opened.

Recorded is all that a replay needs: every line, the choices of the command, what was loaded from the store, the keys
that changed the measurement, and where the person was waited for.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from functools import partial
from pathlib import Path
from typing import Any

from hingeline.device.link.fleet import Fleet
from hingeline.device.link.replay import Replay
from hingeline.device.link.times import Mark
from hingeline.device.samples import SensorInfo
from hingeline.errors import DamagedFile, StoreError, UsageProblem
from hingeline.procedures.keys import KEY, RECORDED, Keys, RecordedKey
from hingeline.procedures.runner import Runner, stopped
from hingeline.procedures.speaker import Talk, Views
from hingeline.rig.sheet import Sheet
from hingeline.storage.calibrations import check_copies
from hingeline.storage.keys import open_fleet
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import Happening, happenings, read_fast
from hingeline.storage.session_store import LOADED, SHEET, RecordedStore, WitnessedStore
from hingeline.storage.sessions import begin_run, run_of
from hingeline.storage.store import Store

RESUMED = "resumed"
"""The kind of event after which the person, who was waited for, goes on."""
UNCALIBRATED = ("calibrate", "noise", "wiggle")
"""Commands that do without calibrations."""

Open = Callable[[Keys], AbstractContextManager[Views | None]]
"""Opens the views of a command, which put the keys that are pressed into its keys."""
Choose = Callable[[Path, Mapping[str, Any], Mapping[str, Any]], dict[str, Any]]
"""Gives the choices that a recording holds as if they were typed now: of a folder, those recorded, those given.

They are checked: a file may come from others.
"""


@contextmanager
def open_boards(
    talk: Talk,
    ports: Sequence[str],
    aircraft: str,
    command: str,
    *,
    asks: bool,
    views: Open,
    enter: Callable[[str], None],
    sheet: Sheet | None = None,
    choices: Mapping[str, Any],
    check: Callable[[Mapping[str, SensorInfo]], object] = lambda sensors: None,
) -> Iterator[Runner]:
    """Open the boards, let them stream and record every line while the context lasts.

    `enter` waits for the Enter key where no other keys are heard. Of the rigging sheet that is measured by, the text is
    recorded; of what the command was told, the choices that decide how it goes. `check` is called with the sensors
    before anything is recorded, and raises why the command can't do with them.

    Raises as `Fleet`, `Recorder` and `check_copies`: the copies of boards and store have to agree, unless the command
    does without calibrations.
    """
    with open_fleet(Store(), ports, talk.say) as fleet:
        if command not in UNCALIBRATED:
            check_copies(Store(), fleet, talk.say)
        check(fleet.sensors)
        with begin_run(Store().root, aircraft, command, asks=asks, settles=True, choices=choices) as recorder:
            try:
                talk.say(f"Recording in {recorder.path}")
                recorder.on_failure = partial(_unrecorded, talk, fleet)
                recorder.on_removed = lambda text: fleet.defer(lambda: talk.say(text))
                if sheet is not None:
                    recorder.event(LOADED, name=SHEET, key=sheet.aircraft, payload={"text": sheet.text})
                fleet.record(recorder.lines)
                fleet.ticking = True
                keys = Keys()
                with views(keys) as shown:
                    fleet.start()
                    yield Runner(
                        store=WitnessedStore(recorder),
                        source=fleet,
                        talk=talk,
                        record=recorder.event,
                        started=recorder.started,
                        asks=asks,
                        choices=choices,
                        wait=partial(_wait, fleet, recorder, enter),
                        keys=keys,
                        views=shown,
                    )
            except KeyboardInterrupt:
                raise stopped("Interrupted") from None
            finally:
                fleet.record_no_more()


def _wait(fleet: Fleet, recorder: Recorder, enter: Callable[[str], None], runner: Runner, text: str) -> None:
    """Wait for a key. Nothing that the sensors say meanwhile is kept: a person may be waited for all night."""
    fleet.drop_until_mark()
    if runner.keys.are_heard:
        runner.ask(f"{text} Space; nothing is measured before")
        runner.publish()
        while (key := runner.keys.wait()) not in ("take", "next"):
            runner.heed_aside(key)
            runner.publish()
    else:
        enter(text)
    fleet.mark(lambda: recorder.event(RESUMED))


def _unrecorded(talk: Talk, fleet: Fleet, problem: StoreError) -> None:
    """Tell in the measuring thread: a reading thread has the failure first, and must not wait for a terminal."""
    talk.owe(problem)
    text = f"Not recorded from here on: {problem} What is measured is shown all the same."
    fleet.defer(lambda: talk.say(text))


def open_recording(
    talk: Talk,
    folder: Path,
    aircraft: str,
    command: str,
    *,
    choices: Mapping[str, Any],
    choose: Choose,
) -> Runner:
    """Open a recorded run: with `choices` as the command is told now, and those of the recording.

    Raises `UsageProblem` (it is of another command, aircraft or surface); `DamagedFile` (it was edited).
    """
    path = run_of(folder, command, choices.get("surface"))
    events = list(happenings(path))
    first = _first_event(path, events)
    recorded = {**first, "surface": first["choices"].get("surface")}
    for name, now in (("command", command), ("aircraft", aircraft), ("surface", choices.get("surface"))):
        if (was := recorded.get(name)) != now:
            raise UsageProblem(
                f"The run {path} is of the {name} {was or 'all'}, not of {now or 'all'}",
                "Replay it with the command, the rigging sheet and the surface that it was recorded with",
            )
    replay = Replay(
        Mark() if isinstance(record, Happening) else record
        for record in read_fast(path)
        if not isinstance(record, Happening) or record.kind == RESUMED
    )

    def wait(runner: Runner, text: str) -> None:
        talk.say(text)
        replay.skip()

    return Runner(
        store=RecordedStore(path, events),
        source=replay,
        talk=talk,
        record=lambda kind, **fields: None,
        started=first["started"],
        asks=first["asks"],
        settles=bool(first.get("settles")),
        choices=choose(path, first["choices"], choices),
        wait=wait,
        keys=Keys(recorded=deque(_pressed(path, event) for event in events if event.kind == KEY)),
    )


def _pressed(path: Path, event: Happening) -> RecordedKey:
    after_s, key, number = (event.fields.get(name) for name in ("after_s", "key", "number"))
    if isinstance(after_s, int | float) and key in RECORDED and isinstance(number, int | None):
        return RecordedKey(RECORDED[key], after_s, number)
    raise DamagedFile(f"{path} records a key in another form than hingeline writes", "Replay it as it was recorded")


def _first_event(path: Path, events: Sequence[Happening]) -> dict[str, Any]:
    fields = events[0].fields if events else {}
    forms = {"command": str, "started": str, "asks": bool, "choices": dict}
    if all(isinstance(fields.get(name), form) for name, form in forms.items()):
        return fields
    raise UsageProblem(
        f"The file {path} holds no run of a command",
        "Give the file that a command said it recorded in",
    )
