"""Measure the noise of every sensor, and the best averaging time.

\b
Example:
  hingeline noise --for 600

It shows the Allan deviation beside the figure from the datasheet. Lay the sensors where nobody bumps them, away from
fans. Longer averages than the best one add drift.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from hingeline.cli.command import Number, command, port_option, setting
from hingeline.cli.commands import FAULTS
from hingeline.cli.screen import Screen

if TYPE_CHECKING:
    from hingeline.checks.stability import StaticRecording


@command(FAULTS, port_option)
@setting(
    "--for for_s",
    Number(10, 3600),
    120.0,
    "How long the sensors lie: averaging times go up to a quarter of this.",
    unit="SECONDS",
)
def noise(screen: Screen, ports: tuple[str, ...], for_s: float) -> None:
    from hingeline.cli.run import open_table
    from hingeline.procedures.untouched import record_untouched

    with open_table(screen, ports, "noise") as runner:
        recordings = record_untouched(runner, for_s)
        for recording in recordings:
            runner.record("noise", **_fields(recording))
    for recording in recordings:
        screen.data(_text(recording), **_fields(recording))


def _fields(recording: StaticRecording) -> dict[str, Any]:
    stability = recording.stability_deg
    return {
        "sensor_id": recording.info.sensor_id,
        "chip": recording.info.chip,
        "density_ug_per_rthz": round(recording.density_ug_per_rthz, 2),
        "datasheet_ug_per_rthz": round(recording.datasheet_ug_per_rthz, 2),
        "best_time_s": round(stability.best_time_s, 3),
        "times_s": [round(float(value), 3) for value in stability.times_s],
        "deviations_deg": [float(f"{value:.4g}") for value in stability.deviations],
    }


def _text(recording: StaticRecording) -> str:
    info, stability = recording.info, recording.stability_deg
    rows = [
        f"{info.sensor_id}  {info.chip}: {recording.density_ug_per_rthz:.0f} µg/√Hz, datasheet "
        f"{recording.datasheet_ug_per_rthz:.0f}; best averaged over {stability.best_time_s:.1f} s",
        "  averaged over, Allan deviation:",
    ]
    for time_s, deviation_deg in zip(stability.times_s, stability.deviations, strict=True):
        rows.append(f"  {time_s:8.2f} s  {deviation_deg:.5f}°")
    return "\n".join(rows)
