"""One virtual board: its chips, its cable, its process."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hingeline_virtual.bus import Buses, Slot
from hingeline_virtual.child import install, spawn
from hingeline_virtual.chips import CHIPS
from hingeline_virtual.port import Port
from hingeline_virtual.scene import Scene
from hingeline_virtual.truths import Board

_END_S = 5.0


class VirtualBoard:
    """A board that can be plugged in, started again and unplugged."""

    def __init__(
        self, truth: Board, scene: Scene, seed: int, folder: Path, cable: Callable[[], Port]
    ) -> None:
        self.truth = truth
        self.slots = {sensor.name: Slot(CHIPS[sensor.chip](sensor, scene, seed)) for sensor in truth.sensors}
        self.buses = Buses({(s.bus, s.address): self.slots[s.name] for s in truth.sensors})
        self._files = folder / f"{truth.name}.files"
        self._cable = cable
        self._port: Port | None = None
        self._process: subprocess.Popen[bytes] | None = None
        install(self._files, truth)

    @property
    def port(self) -> str | None:
        """What the host opens, None while it is unplugged."""
        return None if self._port is None else self._port.name

    @property
    def ended(self) -> bool:
        """Its program has ended by itself."""
        return self._process is not None and self._process.poll() is not None

    def described(self) -> dict[str, Any]:
        """Return what the event `board` tells."""
        keys = {"name", "chip", "bus", "address"}
        sensors = [sensor.model_dump(include=keys) for sensor in self.truth.sensors]
        return {"board": self.truth.name, "port": self.port, "uid": self.truth.uid, "sensors": sensors}

    def plug(self) -> None:
        """Power it from a cable."""
        self.buses.power_on()
        self._port = self._cable()

    def start(self, bench: tuple[str, int], number: int, cause: int) -> None:
        """Start its program, on the cable it has; it reports to the `bench` under this number."""
        assert self._port is not None
        self._let_wait(False)  # as USB: what nobody reads is lost, and the program goes on
        self._process = spawn(self._files, self.truth, self._port, bench, number, cause=cause)

    def prompt(self) -> None:
        """Make its console fit for MicroPython's prompt, which waits for what it reads."""
        self._let_wait(True)

    def _let_wait(self, blocking: bool) -> None:
        if self._port is not None and self._port.console is not None:
            os.set_blocking(self._port.console, blocking)

    def finish(self) -> int:
        """Let a program that has taken its leave end, and return its exit status."""
        assert self._process is not None
        status = self._process.wait(_END_S)
        self._process = None
        return status

    def stop(self) -> None:
        """End its program, if it runs."""
        if self._process is not None:
            self._process.kill()
            self.finish()

    def unplug(self) -> None:
        """Take the cable, and with it the power, away."""
        self.stop()
        if self._port is not None:
            self._port.close()
            self._port = None
