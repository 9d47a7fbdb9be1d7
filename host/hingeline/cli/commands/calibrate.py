"""Calibrate sensors, all at once, side by side on a flat table.

\b
Examples:
  hingeline calibrate                       18 poses: the best
  hingeline calibrate --turns 1 --leaned 0  6 poses: quick, less certain

Lay each carrier on its six faces, each also turned end for end, and lean it six ways, in any order. Stillness takes
each pose. Warm up for 15 minutes first. A poor calibration is not kept.
"""

import click

from hingeline.cli.command import Number, command, port_option, setting
from hingeline.cli.commands import SET_UP
from hingeline.cli.completing import sensors as kept_sensors
from hingeline.cli.screen import Screen
from hingeline_calibration.priors import Priors, flatness_deg

TABLE_MM, CARRIER_MM = 300.0, 100.0
"""What a flatness grade is told for: a small surface plate, and the longest carrier."""


@command(SET_UP, port_option)
@click.argument("sensors", nargs=-1, metavar="[SENSOR]...", shell_complete=kept_sensors)
@setting(
    "--turns",
    click.Choice(["1", "2", "4"]),
    "2",
    "How often you lay each face.",
)
@setting(
    "--leaned",
    click.Choice(["0", "3", "6"]),
    "6",
    "Leaning poses, 30 to 60°.",
)
@setting(
    "--squareness squareness_deg",
    Number(0.01, 5),
    0.2,
    "Squareness of the carrier, standard deviation; 0.2 suits a printed one.",
    unit="DEG",
)
@setting("--table grade", click.Choice(["0", "I", "II", "III"]), "III", "Its flatness, DIN 876.")
@setting(
    "--off-level tilt_deg",
    Number(0.01, 3),
    0.25,
    "Tilt of the table, standard deviation each way.",
    unit="DEG",
)
@click.option("--accept", is_flag=True, help="Keep a poor calibration, marked as poor.")
def calibrate(
    *,
    screen: Screen,
    sensors: tuple[str, ...],
    ports: tuple[str, ...],
    turns: str,
    leaned: str,
    squareness_deg: float,
    grade: str,
    tilt_deg: float,
    accept: bool,
) -> None:
    from hingeline.cli.kept import calibration_text
    from hingeline.cli.run import open_table
    from hingeline.procedures.calibrate import FACES_AT, LEANED_OF, Calibrate
    from hingeline.procedures.keeping import keep_good
    from hingeline.storage.sides import find_sensor, working_sensors

    priors = Priors(
        table_tilt_deg=tilt_deg,
        squareness_deg=squareness_deg,
        flatness_deg=flatness_deg(grade, TABLE_MM, CARRIER_MM),
    )
    with open_table(screen, ports, "calibrate") as runner:
        working = working_sensors(runner.sensors)
        chosen = [find_sensor(name, working) for name in sensors] or list(working)
        wanted = (*FACES_AT[turns], *LEANED_OF[leaned])
        infos = [runner.sensors[sensor_id] for sensor_id in chosen]
        results = runner.run(Calibrate.of(infos, runner.started, wanted, priors)).results
        kept, refused = keep_good(runner, results.values(), accept)
    if kept:
        texts = (f"{calibration_text(calibration)}\n  {place}" for calibration, place in kept)
        screen.data("\n".join(texts), calibrations=[calibration.to_dict() for calibration, _ in kept])
    if refused:
        raise refused[0]
