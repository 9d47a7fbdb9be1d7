"""A host that watches sensors, in a process of its own: `python -m tests.bench.watcher SECONDS PORT...`.

All that a measurement does with its samples: lines recorded, stillness of every sensor, and again and again a picture
with the verdicts of a throw, drawn on the large screen. The seconds are of the boards' clocks. Told as JSON: how many
samples, the processor time, how many pictures, and how long after it was written each sample (see `feeder`) was drawn.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from time import monotonic_ns, process_time

from rich.console import Console
from tests.bench.sensors import calibration

from hingeline.checks.throws import ThrowsCheck
from hingeline.demo.job import SHEET
from hingeline.device.link.decoder import Line, sample_fields
from hingeline.device.link.fleet import Fleet
from hingeline.device.samples import Sample
from hingeline.live.picture import Picture
from hingeline.live.screen import LiveScreen
from hingeline.live.showing import Showing
from hingeline.live.stage import Stage
from hingeline.measure.capture import Capture, Seen
from hingeline.measure.pipeline import Instrument
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH
from hingeline.storage.recording import Recorder
from hingeline_protocol.messages import TICKS_PERIOD_US

WARM_S = 3.0
"""Passes before anything is counted."""


class TimedStage(Stage):
    """A stage that is its own last view, and so notes of each sample when a picture that holds it had been drawn."""

    beats = 1

    def __init__(self) -> None:
        super().__init__()
        self.ages_ms: list[float] = []
        self.written_us: dict[tuple[str, int], int] = {}
        self.pictures = 0
        self._waiting: list[int] = []
        self._held: list[int] = []

    def saw(self, seen: Seen) -> None:
        super().saw(seen)
        if isinstance(seen.event, Sample):
            self._waiting.append(self.written_us.pop((seen.event.sensor_id, seen.event.sequence)))

    def picture(self) -> Picture:
        self._held, self._waiting = self._waiting, []
        return super().picture()

    def show(self, picture: Picture) -> None:
        """Note that all views before this one have shown a picture."""
        now_us = monotonic_ns() // 1000
        self.ages_ms += [(now_us - ticks_us) % TICKS_PERIOD_US / 1000 for ticks_us in self._held]
        self.pictures += 1


def watch(for_s: float, ports: list[str]) -> dict[str, object]:
    """Watch for so long; see the module."""
    console = Console(file=open(os.devnull, "w"), force_terminal=True, width=120, height=40)  # noqa: SIM115
    stage = TimedStage()
    with (
        tempfile.TemporaryDirectory() as folder,
        Recorder(Path(folder) / "1.log") as recorder,
        Fleet(ports) as fleet,
    ):
        ids = {(info.port, info.sensor_id.rpartition("-")[2]): name for name, info in fleet.sensors.items()}

        def tap(lines: Sequence[Line]) -> None:
            recorder.lines(lines)
            for line in lines:
                if (fields := sample_fields(line.raw)) is not None:
                    stage.written_us[ids[line.port, str(fields[0])], fields[1]] = fields[2]

        fleet.record(tap)
        names = list(fleet.sensors)
        sides = tuple(
            Instrument(side, name, calibration(name)) for side, name in zip(BOTH, names, strict=False)
        )
        samples = 0

        def told(seen: Seen) -> None:
            nonlocal samples
            samples += 1
            stage.saw(seen)

        with LiveScreen(console, False) as screen, Showing(stage, [screen, stage]):
            fleet.start()
            capture = Capture(fleet, names, told=told)
            stage.seat(dict.fromkeys(names, "left"))
            check = ThrowsCheck(load_sheet(SHEET), "flap", sides, capture.rest())
            stage.judging(lambda rests: check.moments(check.positions[0], rests))
            capture.listen(WARM_S)
            stage.ages_ms.clear()
            samples, stage.pictures, began_s = 0, 0, process_time()
            capture.listen(for_s)
            cpu_s = process_time() - began_s
        fleet.record_no_more()
    return {"samples": samples, "cpu_s": cpu_s, "ages_ms": stage.ages_ms, "pictures": stage.pictures}


if __name__ == "__main__":
    print(json.dumps(watch(float(sys.argv[1]), sys.argv[2:])))
