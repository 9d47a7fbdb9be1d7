"""Show what every sensor reads, live, until q or Ctrl-C.

\b
Example:
  hingeline watch --json --for 5

It shows up vector, tilt of the lid and temperature, twice a second. Without a calibration it uses the chip's nominal
sensitivity, and says so once. A sensor that shows no gravity gets no angle: NO VERDICT, why, and what to do. Use it to
see whether a sensor works, and which is which.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from contextlib import nullcontext
from queue import SimpleQueue
from time import perf_counter
from typing import TYPE_CHECKING

import click

from hingeline.advice.verdict import NO_VERDICT
from hingeline.cli.command import Number, command, port_option
from hingeline.cli.commands import MEASURE
from hingeline.cli.screen import Screen
from hingeline.device.samples import BoardGone, Sample, SensorFault
from hingeline.errors import HingelineError, NotStored
from hingeline.live.keys import hear_keys
from hingeline.storage.store import Store
from hingeline_calibration.errors import CalibrationError

if TYPE_CHECKING:
    from hingeline.device.link.fleet import Fleet
    from hingeline.device.samples import Event, SensorInfo
    from hingeline.procedures.keys import Key
    from hingeline_calibration.calibration import Calibration

UPDATE_S = 0.5


@command(MEASURE, port_option)
@click.option("--for", "for_s", type=Number(min=0), metavar="SECONDS", help="Stop after this time.")
def watch(screen: Screen, ports: tuple[str, ...], for_s: float | None) -> None:
    from hingeline.storage.keys import open_fleet

    pressed: SimpleQueue[Key] = SimpleQueue()
    with open_fleet(Store(), ports, screen.say) as fleet, hear_keys(pressed.put) if screen.asks else nullcontext():
        calibrations = _calibrations(screen, fleet)
        fleet.start()
        screen.say(f"{'Q' if screen.asks else 'Ctrl-C'} stops.")
        due_s: dict[str, float] = {}
        fleet.ticking = True  # it ends in time, whether the sensors say anything or not
        until_s = float("inf") if for_s is None else perf_counter() + for_s
        for event in fleet:
            if perf_counter() > until_s:
                break
            if not pressed.empty() and pressed.get() == "quit":
                break
            _show(screen, event, fleet.sensors, calibrations, due_s)


def _calibrations(screen: Screen, fleet: Fleet) -> dict[str, Calibration]:
    """Load the calibrations that can be used, and say why others cannot. Where two copies differ, none is used."""
    from hingeline.storage.calibrations import check_copies, load_calibration

    store, calibrations = Store(), {}
    try:
        check_copies(store, fleet, screen.say)
    except (HingelineError, CalibrationError) as problem:
        screen.say(str(problem))
        return {}
    for sensor_id, sensor in fleet.sensors.items():
        try:
            calibrations[sensor_id] = load_calibration(store, sensor)
        except NotStored:  # told beside its values
            continue
        except (HingelineError, CalibrationError) as problem:
            screen.say(str(problem))
    return calibrations


def _show(
    screen: Screen,
    event: Event,
    sensors: Mapping[str, SensorInfo],
    calibrations: Mapping[str, Calibration],
    due_s: dict[str, float],
) -> None:
    from hingeline.measure.cautions import doubt_of_length
    from hingeline_calibration.arrays import angle_between_deg

    if isinstance(event, BoardGone):
        raise event.error
    if isinstance(event, SensorFault):
        screen.data(f"{event.sensor_id}  {event.code}", sensor_id=event.sensor_id, fault=event.code)
    elif isinstance(event, Sample) and event.time_s >= due_s.get(event.sensor_id, event.time_s):
        calibration = calibrations.get(event.sensor_id)
        first = event.sensor_id not in due_s
        due_s[event.sensor_id] = event.time_s + UPDATE_S
        x, y, z = _up_g(event, sensors[event.sensor_id], calibration)
        doubt = doubt_of_length(math.hypot(x, y, z), calibration is not None)
        lid_tilt_deg = None if doubt else round(angle_between_deg((x, y, z), (0.0, 0.0, 1.0)), 2)
        angle = f"{NO_VERDICT}, {doubt.text}" if doubt else f"lid {lid_tilt_deg:6.2f}° off level"
        is_absolute = sensors[event.sensor_id].thermometer == "absolute"  # another's origin is unknown
        warmth = f"  {event.temperature_c:.1f} °C" if is_absolute and event.temperature_c is not None else ""
        note = "  not calibrated: it may be some degrees off" if first and calibration is None else ""
        screen.data(
            f"{event.sensor_id}  x {x:+.3f}  y {y:+.3f}  z {z:+.3f} g  {angle}{warmth}{note}",
            sensor_id=event.sensor_id,
            time_s=round(event.time_s, 3),
            up_g=[round(value, 4) for value in (x, y, z)],
            lid_tilt_deg=lid_tilt_deg,
            no_verdict=doubt.text if doubt else None,
            temperature_c=event.temperature_c,
            calibrated=calibration is not None,
        )


def _up_g(sample: Sample, sensor: SensorInfo, calibration: Calibration | None) -> tuple[float, float, float]:
    """The up vector in g, in the carrier frame; without a calibration, in the frame of the chip."""
    if calibration is None:
        x, y, z = (value / sensor.counts_per_g for value in sample.counts)
    else:
        x, y, z = calibration.gravity_of_counts(sample.counts, sample.temperature_c).tolist()
    return x, y, z
