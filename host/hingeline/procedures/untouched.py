"""Sensors that lie untouched for minutes: their samples, for noise and warming."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hingeline.checks.stability import StaticRecording, static_recording
from hingeline.measure.tracks import Tracks
from hingeline.procedures.keeping import keep
from hingeline.procedures.procedure import Next, Procedure, Step, Taken, joined
from hingeline.procedures.runner import Runner
from hingeline.storage.calibrations import load_calibration
from hingeline.storage.sides import working_sensors
from hingeline.units import counted, time_text
from hingeline_calibration.temperature import fit_tempco

ALOUD_S = 60
"""The time to go is said so often, and shown every second."""


@dataclass(frozen=True)
class Untouched(Procedure):
    """So long no sensor is moved; `seconds` are the tracks of each second so far."""

    sensors: tuple[str, ...]
    for_s: float
    seconds: tuple[Tracks, ...] = ()

    @property
    def step(self) -> Step | None:
        """One second after the other."""
        left_s = self.for_s - len(self.seconds)
        if left_s <= 0:
            return None
        ask = ", ".join([f"{time_text(left_s)} to go", *self._warmth()])
        is_aloud = len(self.seconds) % ALOUD_S == 0
        return Step(ask, self.sensors, is_tracked=True, lasts_s=min(left_s, 1.0), is_aloud=is_aloud, while_still=ask)

    def after(self, event: Taken) -> Next[Untouched]:
        """Keep the samples of a second."""
        return Next(replace(self, seconds=(*self.seconds, event.tracks)))

    @property
    def tracks(self) -> Tracks:
        """Of all seconds, by sensor."""
        return joined(*self.seconds)

    def _warmth(self) -> list[str]:
        latest = self.seconds[-1] if self.seconds else {}
        return [
            f"{sensor_id} {samples[-1].temperature_c:.1f} °C"
            for sensor_id, samples in latest.items()
            if samples and samples[-1].temperature_c is not None
        ]


def record_untouched(runner: Runner, for_s: float) -> list[StaticRecording]:
    """Record all working sensors while nobody touches them. Raises as `Runner.run` and `static_recording`."""
    names = working_sensors(runner.sensors)
    runner.say(f"Leave {counted(len(names), 'sensor')} untouched for {time_text(for_s)}.")
    untouched = runner.run(Untouched(names, for_s))
    return [static_recording(runner.sensors[name], samples) for name, samples in untouched.tracks.items()]


def keep_tempco(runner: Runner, recording: StaticRecording) -> str:
    """Keep how the bias changes with temperature, in the calibration in use; say where."""
    calibration = load_calibration(runner.store, recording.info)
    repeat_counts = 1e-3 * calibration.repeat.deviation_mg * calibration.counts_per_g
    calibration = calibration.with_tempco(fit_tempco(recording.readings, repeat_counts))
    return f"{calibration.sensor_id}: temperature coefficient {keep(runner, calibration)}."
