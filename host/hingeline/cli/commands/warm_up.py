"""Wait until the sensors are warm, and show how far they drift.

\b
Examples:
  hingeline warm-up
  hingeline warm-up --minutes 30 --tempco

Plug them in cold, lay them where nobody bumps them, and leave them. With --tempco hingeline takes the drift out of
later measurements.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.command import Number, command, port_option, setting
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen
from hingeline.units import time_text

if TYPE_CHECKING:
    from hingeline.checks.stability import StaticRecording

WARM_C = 0.3
"""So near to its final temperature a chip is warm; common practice, no source."""


@command(SET_UP, port_option)
@setting("--minutes", Number(0.5, 120), 15.0, "How long they lie.", unit="MINUTES")
@click.option(
    "--tempco",
    is_flag=True,
    help="Keep how each sensor's bias changes with temperature, in its calibration; it must warm by 3 °C or more.",
)
def warm_up(screen: Screen, ports: tuple[str, ...], minutes: float, tempco: bool) -> None:
    from hingeline.cli.run import open_table
    from hingeline.procedures.untouched import keep_tempco, record_untouched

    with open_table(screen, ports, "warm-up") as runner:
        recordings = record_untouched(runner, 60 * minutes)
        for recording in recordings:
            runner.record("warm-up", **_fields(recording))
        kept = [keep_tempco(runner, recording) for recording in recordings] if tempco else []
    for recording in recordings:
        screen.data(_text(recording), **_fields(recording))
    for text in kept:
        screen.say(text)


def _fields(recording: StaticRecording) -> dict[str, Any]:
    warming = recording.warming
    return {
        "sensor_id": recording.info.sensor_id,
        "drift_deg": round(recording.drift_deg, 4),
        "temperatures_c": [reading.temperature_c for reading in recording.readings],
        "time_constant_s": None if warming is None else round(warming.time_constant_s, 1),
        "final_c": None if warming is None else round(warming.final_c, 2),
        "warm_after_s": None if warming is None else round(warming.settled_after_s(WARM_C), 1),
    }


def _text(recording: StaticRecording) -> str:
    warming, first, last = recording.warming, recording.readings[0], recording.readings[-1]
    lasted_s = last.start_s - first.start_s
    text = f"{recording.info.sensor_id}: drifted {recording.drift_deg:.3f}° in {time_text(lasted_s)}"
    if first.temperature_c is None or last.temperature_c is None:
        return f"{text}; it has no thermometer: give it the full quarter of an hour"
    is_absolute = recording.info.thermometer == "absolute"  # another's origin is unknown: only its changes are told
    warmed_c = last.temperature_c - first.temperature_c
    text += f", {first.temperature_c:.1f} to {last.temperature_c:.1f} °C" if is_absolute else f", {warmed_c:+.1f} °C"
    if warming is None:
        return f"{text}; it is warm"
    left_s = warming.settled_after_s(WARM_C) - lasted_s
    state = "it is warm" if left_s <= 0 else f"warm in another {time_text(left_s)}"
    settles = f"settles at {warming.final_c:.1f} °C: " if is_absolute else ""
    return f"{text}; {settles}{state}"
