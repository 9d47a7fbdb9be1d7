"""`hingeline watch`: what every sensor reads, live."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.screen import Number, Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.samples import Event, SensorInfo

UPDATE_S = 0.5


@click.command()
@port_option
@click.option("--for", "for_s", type=Number(min=0), metavar="SECONDS", help="Stop after so long.")
@command
def watch(*, screen: Screen, ports: tuple[str, ...], for_s: float | None) -> int:
    """Show what every sensor reads, live, until Ctrl-C.

    \b
    Example:
      hingeline watch --json --for 5

    Twice a second: up vector, tilt of the lid, temperature. Not calibrated: the chip's nominal sensitivity. It
    shows whether a sensor lives and which is which.
    """
    from hingeline.link.fleet import Fleet

    with Fleet(ports) as fleet:
        fleet.start()
        screen.say("Not calibrated: one that lies flat may show some degrees. Ctrl-C ends it.")
        due_s: dict[str, float] = {}
        first_s: float | None = None
        for event in fleet:
            first_s = event.time_s if first_s is None else first_s
            if for_s is not None and event.time_s - first_s > for_s:
                break
            _show(screen, event, fleet.sensors, due_s)
    return 0


def _show(screen: Screen, event: Event, sensors: dict[str, SensorInfo], due_s: dict[str, float]) -> None:
    from hingeline.samples import BoardGone, SensorFault

    if isinstance(event, BoardGone):
        raise event.error
    if isinstance(event, SensorFault):
        screen.data(f"{event.sensor_id}  {event.code}", sensor_id=event.sensor_id, fault=event.code)
    elif event.time_s >= due_s.get(event.sensor_id, event.time_s):
        due_s[event.sensor_id] = event.time_s + UPDATE_S
        up_g = [value / sensors[event.sensor_id].counts_per_g for value in event.counts]
        reading: dict[str, Any] = {
            "sensor_id": event.sensor_id,
            "time_s": round(event.time_s, 3),
            "up_g": [round(value, 4) for value in up_g],
            "lid_tilt_deg": round(
                math.degrees(math.acos(max(-1.0, min(1.0, up_g[2] / math.hypot(*up_g))))), 2
            ),
            "temperature_c": event.temperature_c,
        }
        x, y, z = up_g
        warmth = "" if event.temperature_c is None else f"  {event.temperature_c:.1f} °C"
        screen.data(
            f"{event.sensor_id}  x {x:+.3f}  y {y:+.3f}  z {z:+.3f} g  lid {reading['lid_tilt_deg']:6.2f}° off level"
            f"{warmth}",
            **reading,
        )
