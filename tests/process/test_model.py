"""Store and session against simple models, in any order of doings, each of which may be killed at any of its steps."""

import os
import shutil
import tempfile
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from hingeline.device.link.decoder import Line
from hingeline.storage.records import Happening, read
from hingeline.storage.runs import all_runs
from hingeline.storage.sessions import begin_run, gather
from hingeline.storage.store import Store

STEPS = ("open", "write", "fsync", "replace", "mkdir", "ftruncate", "chmod", "unlink")
"""Calls that change what is on the disk."""
KEYS = st.sampled_from(["e661-0", "e661-1", "../e661"])
KILLED_AT = st.none() | st.integers(1, 30)


class Killed(BaseException):
    """In place of a kill: no `except` of the code hears of it."""


def killed(at, do):
    """Do something that is killed in place of its step number `at`, a write half done; give whether it ended."""
    left, kept = at, {name: getattr(os, name) for name in STEPS}

    def counted(call):
        def step(*arguments, **options):
            nonlocal left
            left -= 1
            if left == 0 and call is kept["write"]:
                descriptor, data = arguments
                call(descriptor, data[: len(data) // 2])
            if left <= 0:
                raise Killed
            return call(*arguments, **options)

        return step

    try:
        for name, call in kept.items() if at else ():
            setattr(os, name, counted(call))
        do()
    except Killed:
        return False
    finally:
        for name, call in kept.items():
            setattr(os, name, call)
    return True


class StoreMachine(RuleBasedStateMachine):
    """What is current is what was saved last; of a save that was killed, what was before or what was saved."""

    def __init__(self):
        super().__init__()
        self.folder = tempfile.mkdtemp()
        self.kept: dict[str, list[int]] = {}

    @property
    def store(self):
        return Store(Path(self.folder))

    @rule(key=KEYS, value=st.integers(), at=KILLED_AT)
    def save(self, key, value, at):
        before = self.kept.setdefault(key, [])
        ended = killed(at, lambda: self.store.save("settings", key, {"value": value}))
        if ended or len(self.store.history("settings", key)) > len(before):
            before.append(value)
        strays = [path.name for path in self.store.history("settings", key)[0].path.parent.glob(".*")] if before else []
        assert len(strays) <= (not ended)  # what a kill left the next save takes away

    @invariant()
    def all_that_was_saved_is_there(self):
        for key, values in self.kept.items():
            kept = [self.store.load("settings", key, number)["value"] for number in range(1, len(values) + 1)]
            assert kept == values
            current = self.store.find("settings", key)
            assert current == ({"value": values[-1]} if values else None)

    def teardown(self):
        shutil.rmtree(self.folder)


class SessionMachine(RuleBasedStateMachine):
    """Of a run there is a beginning of what was recorded, at least up to the last event; runs are in their order."""

    def __init__(self):
        super().__init__()
        self.root = Path(tempfile.mkdtemp())
        self.recorder = None
        self.runs: dict[Path, tuple[list[bytes], int]] = {}
        self.order: list[Path] = []

    @precondition(lambda self: self.recorder is None)
    @rule(at=KILLED_AT, aircraft=st.sampled_from(["Moss Lantern", "Moss-Lantern"]))
    def begin(self, at, aircraft):
        begun = []
        if killed(at, lambda: begun.append(begin_run(self.root, aircraft, "throws"))):
            (self.recorder,) = begun
            self.runs[self.recorder.path] = ([b"run"], 1)
            self.order.append(self.recorder.path)

    @precondition(lambda self: self.recorder is not None)
    @rule(at=KILLED_AT, number=st.integers(0, 99), is_event=st.booleans())
    def record(self, at, number, is_event):
        records, synced = self.runs[self.recorder.path]
        raw = b"%d" % number
        line = Line("port", 1, raw)
        do = (lambda: self.recorder.event("n", n=number)) if is_event else (lambda: self.recorder.lines([line]))
        ended = killed(at, do)
        records.append(b"n" + raw if is_event else raw)
        self.runs[self.recorder.path] = (records, len(records) if ended and is_event else synced)
        if not ended:
            self._let_go()

    @precondition(lambda self: self.recorder is not None)
    @rule(at=KILLED_AT)
    def end(self, at):
        killed(at, self.recorder.close) and self._forget()
        self._let_go()

    def _forget(self):
        self.recorder = None

    def _let_go(self):
        """As the system does when a process has gone."""
        if self.recorder is not None:
            os.close(self.recorder._descriptor) if _is_open(self.recorder._descriptor) else None
        self.recorder = None

    @invariant()
    def what_is_there_was_recorded(self):
        left_out = []
        runs = {run.path: run for run in all_runs(self.root, lambda path, text: left_out.append(text))}
        assert not left_out
        for path, (records, synced) in self.runs.items():
            there = [
                (b"run" if record.kind == "run" else b"n%d" % record.fields["n"])
                if isinstance(record, Happening)
                else record.raw
                for record in read(path)
            ]
            assert there == records[: len(there)]
            assert len(there) >= synced
            assert runs[path].command == "throws"
        numbers = [runs[path].number for path in self.order]
        assert numbers == sorted(set(numbers))
        assert all(session.runs for session in gather(runs.values()))

    def teardown(self):
        self._let_go()
        shutil.rmtree(self.root)


def _is_open(descriptor):
    try:
        os.fstat(descriptor)
    except OSError:
        return False
    return True


TestStore, TestSession = StoreMachine.TestCase, SessionMachine.TestCase
TestStore.settings = TestSession.settings = settings(deadline=None, stateful_step_count=15, max_examples=30)
