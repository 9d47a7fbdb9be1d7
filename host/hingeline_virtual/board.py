"""One virtual board: its chips, its cable, its process."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from hingeline_virtual.buses import Buses, ChipOnBus
from hingeline_virtual.chips import CHIPS
from hingeline_virtual.port import Port
from hingeline_virtual.process import install_firmware, start_process
from hingeline_virtual.scenario import Board
from hingeline_virtual.scene import Scene

_END_S = 5.0


class VirtualBoard:
    """A board that can be plugged in, started again and unplugged."""

    def __init__(self, settings: Board, scene: Scene, seed: int, folder: Path, cable: Callable[[], Port]) -> None:
        self.settings = settings
        sensors = settings.sensors
        self.chips = {sensor.name: ChipOnBus(CHIPS[sensor.chip](sensor, scene, seed)) for sensor in sensors}
        self.buses = Buses({(sensor.bus, sensor.address): self.chips[sensor.name] for sensor in sensors})
        self._files = folder / f"{settings.name}.files"
        self._cable = cable
        self._port: Port | None = None
        self._process: subprocess.Popen[bytes] | None = None
        install_firmware(self._files, settings)

    @property
    def port(self) -> str | None:
        """The name of its port, None while it is unplugged."""
        return None if self._port is None else self._port.name

    @property
    def ended(self) -> bool:
        """Its program has ended by itself."""
        return self._process is not None and self._process.poll() is not None

    def describe(self) -> dict[str, Any]:
        """The fields of the event `board`."""
        keys = {"name", "chip", "bus", "address"}
        sensors = [sensor.model_dump(include=keys) for sensor in self.settings.sensors]
        return {"board": self.settings.name, "port": self.port, "uid": self.settings.uid, "sensors": sensors}

    def plug(self) -> None:
        """Connect its cable: its chips are powered, its port can be opened."""
        self.buses.power_on()
        self._port = self._cable()

    def start(self, bench: tuple[str, int], number: int, cause: int) -> None:
        """Start its program, which connects to the `bench` with this number."""
        assert self._port is not None
        self._let_wait(False)  # as with USB: lines that nobody reads are lost, and the program goes on
        self._process = start_process(self._files, self.settings, self._port, bench, number, cause=cause)

    def prompt(self) -> None:
        """Let its console block: MicroPython's prompt waits for its input."""
        self._let_wait(True)

    def _let_wait(self, blocking: bool) -> None:
        if sys.platform != "win32" and self._port is not None and self._port.console is not None:
            os.set_blocking(self._port.console, blocking)

    def finish(self) -> int:
        """Wait for the end of a program that has left, and return its exit status."""
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
        """Pull the cable: its program ends, its port is closed."""
        self.stop()
        if self._port is not None:
            self._port.close()
            self._port = None
