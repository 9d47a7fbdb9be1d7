"""The commands as a person uses them: `hingeline` in a process of its own, before a virtual bench.

`Person` starts a command and does at the bench what the command asks for on standard error.
"""

import atexit
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from click.testing import CliRunner

from hingeline.cli import cli
from hingeline_calibration.poses import FACES
from hingeline_virtual.client import VirtualBench

Deed = Callable[[], object]


@dataclass(frozen=True)
class Outcome:
    """How a command ended."""

    status: int
    stdout: str
    stderr: str

    @property
    def data(self) -> dict:
        """The one object that `--json` printed."""
        (line,) = self.stdout.splitlines()
        return json.loads(line)

    @property
    def session(self) -> Path:
        """The file of the run that it was recorded in."""
        return session_of(self.stderr)


@contextmanager
def printing(command: subprocess.Popen) -> Iterator[Callable[[], str]]:
    """Read what a command prints beside what it says, since a pipe holds 64 KiB; give what waits for all of it."""
    with ThreadPoolExecutor(1) as beside:
        yield beside.submit(command.stdout.read).result


def session_of(told: str) -> Path:
    """Return the file that a command says it is recorded in."""
    return Path(re.search(r"Recording in\s+(\S+)", told)[1])


def at_the_desk(home: Path, *arguments: str) -> Outcome:
    """Run a command that needs no board, in this process."""
    told = CliRunner(env={"HINGELINE_HOME": str(home)}).invoke(
        cli, arguments, standalone_mode=False, catch_exceptions=False
    )
    return Outcome(told.return_value, told.stdout, told.stderr)


@dataclass(frozen=True)
class Person:
    """Somebody at a bench, with calibrations and datum of their own."""

    bench: VirtualBench
    home: Path

    def start(self, *arguments: str) -> subprocess.Popen:
        """Start `hingeline` with these arguments and the bench's ports."""
        ports = [word for port in self.bench.ports.values() for word in ("--port", port)]
        return subprocess.Popen(
            [sys.executable, "-m", "hingeline", *arguments, *ports, "--no-input"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "HINGELINE_HOME": str(self.home)},
        )

    def run(self, *arguments: str, asked: tuple[tuple[str, Deed], ...] = ()) -> Outcome:
        """Run a command; each pattern of `asked` in turn is waited for on standard error, and its deed done."""
        with self.start(*arguments) as command, printing(command) as printed:
            told, waiting = [], list(asked)
            for line in command.stderr:
                told.append(line)
                if waiting and re.search(waiting[0][0], line):
                    waiting.pop(0)[1]()
            stdout = printed()
        outcome = Outcome(command.returncode, stdout, "".join(told))
        assert not waiting, f"never asked for {[pattern for pattern, _ in waiting]}: {outcome.stderr}"
        return outcome

    def stick(self, position: str) -> Deed:
        """Return the deed of moving the stick."""
        return lambda: self.bench.do("stick", position=position)

    def throws(self, surface: str) -> tuple[tuple[str, Deed], ...]:
        """Return the deeds of the throws of a surface with the normal mode alone, by what asks for them."""
        up, down = (self.stick(f"{surface} {way}") for way in ("up", "down"))
        return (
            (rf"{surface}: .*up \(normal\), all the way", up),
            (rf"{surface}: .*down \(normal\), all the way", down),
            (rf"{surface}: .*neutral \(normal\), sticks", self.stick("neutral")),
        )

    def moves_to(self, surface: str) -> tuple[str, Deed]:
        """Return the deed of taping the sensors on another surface and wiggling its left side, by what asks for it."""

        def move() -> None:
            self.bench.do("wait", for_s=3)
            self.tape(surface)
            self.bench.do("wait", for_s=3)
            for deflection_deg in (8, 0):
                self.bench.do("deflect", surface=f"{surface} left", deflection_deg=deflection_deg)

        return rf"{surface}: tape the sensors on.*wiggle the LEFT", move

    def calibrate(self, *options: str) -> Outcome:
        """Take twelve poses of all sensors and calibrate them."""
        layings = [self.on_face(face, yaw) for yaw in (0, 180) for face in FACES]
        return self.lay(*layings, options=("--leaned", "0", *options))

    def lay(self, *layings: Deed, options: tuple[str, ...] = ()) -> Outcome:
        """Calibrate all sensors with these layings, each done once the one before is taken."""
        taken = [f", {number} of {len(layings)}" for number in range(1, len(layings))]
        return self.run("calibrate", *options, asked=tuple(zip(["Lay every carrier", *taken], layings, strict=True)))

    def take_datum(self, *options: str) -> Outcome:
        """Lay all sensors on one flat and take the datum."""
        self.bench.do("place", sensor="all", face="+z")
        return self.run("datum", *options)

    def tape(self, surface: str) -> None:
        """Tape the sensors on both sides of a surface."""
        for side in ("left", "right"):
            self.bench.do("tape", sensor=side, surface=f"{surface} {side}")

    def on_face(self, face: str, yaw_deg: float = 0, sensor: str = "all") -> Deed:
        """Return the deed of laying sensors on a face."""
        return lambda: self.bench.do("place", sensor=sensor, face=face, yaw_deg=yaw_deg)

    def leaned(self, *up: float, sensor: str = "all") -> Deed:
        """Return the deed of propping sensors so that this direction of the carrier is up."""
        return lambda: self.bench.do("lean", sensor=sensor, up=up)


@cache
def kept_visits() -> Path:
    """A copy of the visits of tests/data: a command writes its index beside them."""
    folder = tempfile.mkdtemp()
    atexit.register(shutil.rmtree, folder)
    return Path(shutil.copytree(Path(__file__).parents[1] / "data" / "visits", f"{folder}/visits"))
