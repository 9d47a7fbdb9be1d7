"""Breaks a save off at each of its steps and looks at what is left: `python -m tests.process.broken kills NAME`.

`kills`: the process is killed (signal 9) in place of its first system call, then of its second, and so on: Linux
stops it at each (ptrace). `refusals`: the system refuses one step after the other, with each reason in turn. After
each, what is found must be what was there before or what was saved; then the save is done again, must be whole, and
must leave nothing of the one that was broken off. Prints one JSON object.
"""

import ctypes
import errno
import json
import os
import shutil
import signal
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from tests.process.saves import SAVES, Save

from hingeline.errors import HingelineError

TRACEME, SYSCALL = 0, 24
"""Of ptrace(2), Linux, sys/ptrace.h; the same on all its machines."""
REASONS = (errno.ENOSPC, errno.EROFS, errno.EIO)
STEPS = ("open", "os.rename", "os.remove", "os.mkdir", "os.truncate", "os.chmod", "os.listdir", "fcntl.flock")
"""Audit events of CPython, docs.python.org/3/library/audit_events.html; writing and syncing raise none."""

Ended = tuple[bool, str]
"""Whether all steps were passed without a break; and what the save told, empty if it was killed."""


def traced(step: int, save: Callable[[], object]) -> Ended:
    """Run a save in a child that is killed in place of its system call number `step`."""
    libc = ctypes.CDLL(None)
    libc.ptrace.argtypes = [ctypes.c_long, ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p]
    heard, tell = os.pipe()
    child = os.fork()
    if child == 0:
        libc.ptrace(TRACEME, 0, None, None)
        os.kill(os.getpid(), signal.SIGSTOP)
        save()
        os.write(tell, b"saved")
        os._exit(0)
    os.close(tell)
    stops = -1  # the first is its own; then each call stops it on the way in and on the way out
    while not os.WIFSIGNALED(status := os.waitpid(child, 0)[1]) and not os.WIFEXITED(status):
        stopped_by = os.WSTOPSIG(status)
        ours = stopped_by in (signal.SIGTRAP, signal.SIGSTOP)
        stops += ours
        if stops == 2 * step - 1:
            os.kill(child, signal.SIGKILL)
        libc.ptrace(SYSCALL, child, None, None if ours else stopped_by)
    with os.fdopen(heard) as pipe:
        return os.WIFEXITED(status), pipe.read()


def refused(reason: int, step: int, root: Path, save: Callable[[], object]) -> Ended:
    """Run a save in a child whose step number `step` the system refuses."""
    heard, tell = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            left = _refuse(reason, step, str(root))
            told = _told(save)
            os.write(tell, json.dumps([left() > 0, told]).encode())
        finally:
            os._exit(0)
    os.close(tell)
    os.waitpid(child, 0)
    with os.fdopen(heard) as pipe:
        passed, told = json.load(pipe)
        return passed, told


def _refuse(reason: int, step: int, root: str) -> Callable[[], int]:
    """Let the system refuse one step in a folder; return what tells how many steps are to go until then."""
    left = step
    write, sync = os.write, os.fsync

    def count(*_: object) -> None:
        nonlocal left
        left -= 1
        if left == 0:
            raise OSError(reason, os.strerror(reason))

    def counted(call: Callable[..., Any]) -> Callable[..., Any]:
        return lambda *arguments: (count(), call(*arguments))[1]

    os.write, os.fsync = counted(write), counted(sync)

    def heard(event: str, arguments: tuple[Any, ...]) -> None:
        if event in STEPS and (isinstance(arguments[0], int) or str(arguments[0]).startswith(root)):
            count()

    sys.addaudithook(heard)

    def ended() -> int:
        nonlocal left
        os.write, os.fsync = write, sync
        to_go, left = left, 0
        return to_go

    return ended


def _told(save: Callable[[], object]) -> str:
    try:
        save()
    except HingelineError as problem:
        return f"{problem.exit_status} {problem}" if problem.cure else "no cure"
    except Exception as problem:
        return repr(problem)
    return "saved"


def breaks(way: str, root: Path, save: Callable[[], object]) -> Iterator[Callable[[int], Ended]]:
    """Yield each way to break a save off at a step."""
    if way == "kills":
        yield lambda step: traced(step, save)
    else:
        for reason in REASONS:
            yield lambda step, reason=reason: refused(reason, step, root, save)


def broken_off(way: str, name: str) -> dict[str, Any]:
    """Return what was found after each break: how often what, and everything that is wrong."""
    one = SAVES[name]
    old, new = _around(one)
    found: Counter[str] = Counter()
    told: set[str] = set()
    wrong = []
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder) / "here"
        for broken in breaks(way, root, lambda: one.save(root)):
            step, passed = 0, False
            while not passed:
                step += 1
                _empty(root)
                one.prepare(root)
                passed, said = broken(step)
                left = one.found(root)
                told.add(said)
                found["new" if left == new else "old" if left == old else "part"] += 1
                ok = left in (old, new) or (name == "session" and new.startswith(left))
                if not ok or (said == "saved" and left != new):
                    wrong.append(f"step {step}: told {said!r}, found {str(left)[:60]!r}")
                one.save(root)
                strays = [str(path) for path in root.rglob(".*")]
                if one.found(root) != new or strays:
                    wrong.append(f"step {step}, once more: {strays or str(one.found(root))[:60]}")
    return {"found": found, "told": sorted(text.replace(folder, "") for text in told), "wrong": wrong}


def _around(one: Save) -> tuple[Any, Any]:
    """Return what is found before and after a save that nothing breaks off; it loads all that a save needs, too."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder) / "here"
        _empty(root)
        one.prepare(root)
        old = one.found(root)
        one.save(root)
        return old, one.found(root)


def _empty(root: Path) -> None:
    shutil.rmtree(root, ignore_errors=True)
    root.mkdir()


if __name__ == "__main__":
    print(json.dumps(broken_off(*sys.argv[1:])))
