"""`hingeline calibrate`: face by face on a flat table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hingeline.cli.screen import Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.calibrating import Taking
    from hingeline.cli.visit import Visit
    from hingeline_calibration.calibration import Calibration

YAWS_DEG = {"1": (0.0,), "2": (0.0, 180.0), "4": (0.0, 90.0, 180.0, 270.0)}


@click.command()
@click.argument("sensors", nargs=-1, metavar="[SENSOR]...")
@port_option
@click.option(
    "--turns",
    type=click.Choice(list(YAWS_DEG)),
    default="2",
    show_default=True,
    help="How often each face is laid: once, also turned end for end, or at four quarter turns.",
)
@click.option(
    "--leaned", type=click.IntRange(0, 12), default=0, show_default=True, help="Rests propped at a slope."
)
@click.option(
    "--squareness",
    "squareness_deg",
    type=click.FloatRange(0.01, 5),
    default=0.2,
    show_default=True,
    metavar="DEG",
    help="How square the carrier's faces are, standard deviation; 0.2 suits a printed part.",
)
@command
def calibrate(
    *,
    screen: Screen,
    sensors: tuple[str, ...],
    ports: tuple[str, ...],
    turns: str,
    leaned: int,
    squareness_deg: float,
) -> int:
    """Calibrate sensors, all at once, side by side on a flat table.

    Lay each carrier on each of its six faces, in any order; then once more on each, turned end for end.
    Stillness takes each rest: no key is needed. Warm the sensors up for 15 minutes first.

    \b
    Examples:
      hingeline calibrate                 every sensor, twelve rests
      hingeline calibrate --turns 1       six rests: quicker, and less certain
    """
    from hingeline.calibrating import Plan, Taking, fit_and_keep
    from hingeline.cli.visit import visit
    from hingeline.sides import find, usable
    from hingeline_calibration.priors import Priors

    with visit(screen, ports, "calibration", "calibrate") as here:
        working = usable(here.sensors)
        chosen = [find(name, working) for name in sensors] or list(working)
        taking = Taking([here.sensors[name] for name in chosen], Plan(YAWS_DEG[turns], leaned))
        _take_rests(here, taking)
        priors = Priors(squareness_deg=squareness_deg)
        results = [fit_and_keep(here.store, taking, here.sensors[name], priors) for name in chosen]
    screen.data("\n".join(_text(one) for one in results), calibrations=[one.to_dict() for one in results])
    return 0


def _take_rests(here: Visit, taking: Taking) -> None:
    screen, total = here.screen, taking.plan.rests
    screen.say(
        f"{total} rests for each of {len(taking.rests)} sensor(s). Lay every carrier on a face and let go."
    )
    here.describe = lambda samples, moving: f"{len(moving)} moving" if moving else "still: lift the next one"
    capture = here.capture(tuple(taking.rests), taking.saw)
    for taken in taking.run(capture, lambda taking: None):
        here.record("rest", **vars(taken))
        if taken.refused:
            screen.say(f"{taken.sensor_id}: {taken.name} not taken: {taken.refused}")
            continue
        missing = taking.missing(taken.sensor_id)
        ahead = f"still wanted: {', '.join(missing)}" if missing else "complete"
        screen.say(f"{taken.sensor_id}: {taken.name}, {total - len(missing)} of {total}; {ahead}")


def _text(calibration: Calibration) -> str:
    scale, bias = calibration.scale_counts_per_g, calibration.bias_counts
    nominal = calibration.counts_per_g
    rows = [f"{calibration.sensor_id}  {calibration.chip}  calibrated and kept"]
    for axis, row, offset in zip("xyz", scale, bias, strict=True):
        rows.append(
            f"  {axis}: {row:9.1f} counts/g ({100 * (row / nominal - 1):+.2f} %), "
            f"bias {offset:+8.1f} counts ({1000 * offset / nominal:+.1f} mg)"
        )
    temperature = "" if calibration.temperature_c is None else f" at {calibration.temperature_c:.1f} °C"
    rows.append(
        f"  residual {calibration.residual_mg:.2f} mg over {len(calibration.placements)} rests{temperature}"
    )
    if calibration.priors_decide:
        rows.append(
            f"  not seen by these rests, bounded by --squareness alone: {', '.join(calibration.priors_decide)}"
        )
    return "\n".join(rows)
