"""`hingeline noise` and `hingeline warm-up`: sensors that lie untouched."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.screen import Number, Screen, command, port_option
from hingeline.units import time_text

if TYPE_CHECKING:
    from hingeline.checks.stability import StaticRecording

WARM_C = 0.3
"""So near to its final temperature a chip is warm; common practice, no source."""


@click.command()
@port_option
@click.option(
    "--for",
    "for_s",
    type=Number(10, 3600),
    default=120.0,
    show_default=True,
    metavar="SECONDS",
    help="How long they lie: averaging times up to a quarter of it are told.",
)
@command
def noise(*, screen: Screen, ports: tuple[str, ...], for_s: float) -> int:
    """Measure the noise of every sensor, and the best averaging time.

    \b
    Example:
      hingeline noise --for 600

    Allan deviation, beside what the datasheet lets expect. Lay them where nobody bumps them, off fans. Longer
    averages than the best gather drift instead of losing noise.
    """
    from hingeline.cli.run import open_table
    from hingeline.procedures.untouched import record_untouched

    with open_table(screen, ports, "noise") as runner:
        recordings = record_untouched(runner, for_s)
        for recording in recordings:
            runner.record("noise", **_noise_fields(recording))
    for recording in recordings:
        screen.data(_noise_text(recording), **_noise_fields(recording))
    return 0


@click.command("warm-up")
@port_option
@click.option(
    "--minutes",
    type=Number(0.5, 120),
    default=15.0,
    show_default=True,
    metavar="MINUTES",
    help="How long they lie.",
)
@click.option(
    "--tempco",
    is_flag=True,
    help="Keep how each sensor's bias changes with temperature, in its calibration; it must warm by 3 °C or more.",
)
@command
def warm_up(*, screen: Screen, ports: tuple[str, ...], minutes: float, tempco: bool) -> int:
    """Wait until the sensors are warm, and tell how far each has drifted.

    \b
    Examples:
      hingeline warm-up
      hingeline warm-up --minutes 30 --tempco

    Plug them in cold, lay them where nobody bumps them, and leave them. With --tempco the drift is taken out of later
    measurements.
    """
    from hingeline.cli.run import open_table
    from hingeline.procedures.untouched import keep_tempco, record_untouched

    with open_table(screen, ports, "warm-up") as runner:
        recordings = record_untouched(runner, 60 * minutes)
        for recording in recordings:
            runner.record("warm-up", **_warm_fields(recording))
        kept = [keep_tempco(runner, recording) for recording in recordings] if tempco else []
    for recording in recordings:
        screen.data(_warm_text(recording), **_warm_fields(recording))
    for text in kept:
        screen.say(text)
    return 0


def _noise_fields(recording: StaticRecording) -> dict[str, Any]:
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


def _noise_text(recording: StaticRecording) -> str:
    fields = _noise_fields(recording)
    stability = recording.stability_deg
    rows = [
        f"  {time_s:8.2f} s  {deg:.5f}°" for time_s, deg in zip(stability.times_s, stability.deviations, strict=True)
    ]
    return "\n".join(
        [
            f"{recording.info.sensor_id}  {recording.info.chip}: {fields['density_ug_per_rthz']:.0f} µg/√Hz, datasheet "
            f"{fields['datasheet_ug_per_rthz']:.0f}; best averaged over {fields['best_time_s']:.1f} s",
            "  averaged over, Allan deviation:",
            *rows,
        ]
    )


def _warm_fields(recording: StaticRecording) -> dict[str, Any]:
    warming = recording.warming
    return {
        "sensor_id": recording.info.sensor_id,
        "drift_deg": round(recording.drift_deg, 4),
        "temperatures_c": [reading.temperature_c for reading in recording.readings],
        "time_constant_s": None if warming is None else round(warming.time_constant_s, 1),
        "final_c": None if warming is None else round(warming.final_c, 2),
        "warm_after_s": None if warming is None else round(warming.settled_after_s(WARM_C), 1),
    }


def _warm_text(recording: StaticRecording) -> str:
    warming, first, last = recording.warming, recording.readings[0], recording.readings[-1]
    lasted_s = last.start_s - first.start_s
    text = f"{recording.info.sensor_id}: drifted {recording.drift_deg:.3f}° in {time_text(lasted_s)}"
    if first.temperature_c is None or last.temperature_c is None:
        return f"{text}; it has no thermometer: give it the full quarter of an hour"
    text += f", {first.temperature_c:.1f} to {last.temperature_c:.1f} °C"
    if warming is None:
        return f"{text}; it is warm"
    left_s = warming.settled_after_s(WARM_C) - lasted_s
    state = "it is warm" if left_s <= 0 else f"warm in another {time_text(left_s)}"
    return f"{text}; settles at {warming.final_c:.1f} °C: {state}"
