"""The faults of sensors, each in the midst of a measurement; `make faults` tells in docs/faults.md what came."""

from __future__ import annotations

from typing import Any

from tests.faults.sensor_bench import AMBIENT_C, WARMING_S, Deed, Trial

FACES = ("+x", "-x", "+y", "-y", "+z", "-z")
LAYINGS = tuple((face, yaw_deg) for yaw_deg in (0, 180) for face in FACES)
LEFT = "left"


def deed(do: str, **keys: Any) -> Deed:
    """Return a command of the bench."""
    return do, keys


def fault(kind: str) -> Deed:
    """Return the fault of the left chip."""
    return deed("fault", sensor=LEFT, kind=kind)


def spoil(**keys: Any) -> Deed:
    """Return a change of what is true of the left chip."""
    return deed("spoil", sensor=LEFT, **keys)


def knock(*slip_deg: float) -> Deed:
    """Return a knock on the left carrier, after which it has slipped."""
    return deed("knock", sensor=LEFT, slip_deg=slip_deg or (0, 0, 0))


def throws(what: str, *spoiling: Deed, rounds: int = 1, **keys: Any) -> Trial:
    """Return the trial of a fault that comes between neutral and the throw, which is asked for in so many rounds."""
    up, back = deed("stick", position="up"), deed("stick", position="neutral")
    asked = [(r"flap: up .normal., all", (up,)), (r"flap: .*neutral .normal., sticks", (back,))] * rounds
    asked[0] = (asked[0][0], (*spoiling, up))
    return Trial(what, ("throws",), tuple(asked), **keys)


def sweep(what: str, *spoiling: Deed, **keys: Any) -> Trial:
    """Return the trial of a fault that comes at the first end of a sweep."""
    first, *others = (
        deed("deflect", surface="all", deflection_deg=deflection_deg, over_s=3) for deflection_deg in (20, -20, 20, 0)
    )
    return Trial(what, ("sweep", "--sweeps", "1"), (("flap: sweep slowly", (first, *spoiling, *others)),), **keys)


def calibrate(what: str, *spoiling: Deed, **keys: Any) -> Trial:
    """Return the trial of a fault that comes half way through twelve rests."""
    asked = tuple(
        (
            f"f1-104: .*, {number} of 12" if number else "Lay every carrier",
            (*(spoiling if number == 6 else ()), deed("place", sensor="all", face=face, yaw_deg=yaw_deg)),
        )
        for number, (face, yaw_deg) in enumerate(LAYINGS)
    )
    return Trial(what, ("calibrate", "--leaned", "0"), asked, **keys)


def closure(what: str, *spoiling: Deed, **keys: Any) -> Trial:
    """Return the trial of a fault that comes after the datum, before sensors are laid on the flat again."""
    return Trial(
        what,
        ("drift-check",),
        (("Lay 2 sensors", (*spoiling, deed("place", sensor="all", face="+z"))),),
        **keys,
    )


LOST, FROZEN = "does not answer", "repeats one reading"
NOT_AS_CALIBRATED, ASKEW, CAME_BACK = "at rest shows", "leaned by", "it came back"
RESTLESS = "left sensor moving.*right sensor live"
"""While the other stands."""
SATURATED = spoil(bias_mg=[0, 3000, 0])
ACROSS, ALONG = spoil(bias_mg=[0, 30, 0]), spoil(bias_mg=[0, 0, 30])
QUARTER = spoil(turn_deg=[0, 0, 90])
WARM, WARMER = ((deed("warm", ambient_c=AMBIENT_C + by_c), deed("wait", for_s=4 * WARMING_S)) for by_c in (15, 20))
TUGGED = (fault("absent"), knock(), deed("wait", for_s=0.5), deed("mend", sensor=LEFT))
ANOTHER = {"bias_mg": [-31, 24, 38], "scale_percent": [-1.2, 0.8, 1.9]}
"""Errors of an MPU-6050 within its datasheet: another one than the left that was calibrated."""
EXCHANGED = (fault("absent"), deed("wait", for_s=1), deed("mend", sensor=LEFT), spoil(**ANOTHER))
ALIKE = {"right": "mpu6050", "swapped": True}
"""Two modules of one kind have one address: each answers in the place of the other."""
BLIND = {"chip": "adxl345", "truth": {"tempco_mg_c": [0.4, 0.4, 1.2]}}
"""A chip that can't tell its temperature, and drifts with it as its datasheet allows."""
TRIALS: tuple[Trial, ...] = (
    throws("frozen", fault("frozen"), seen=LOST),
    sweep("frozen", fault("frozen"), seen=LOST),
    throws("frozen, ADXL345", fault("frozen"), seen=LOST, chip="adxl345"),
    throws("stuck at zero", fault("zero"), seen=FROZEN),
    sweep("stuck at zero", fault("zero"), seen=FROZEN),
    throws("y at the end of its range", SATURATED, seen=FROZEN),
    sweep("y at the end of its range", SATURATED, seen=FROZEN),
    calibrate("y at the end of its range", SATURATED, seen="end of its range"),
    throws("module turned by a quarter", QUARTER, seen=ASKEW, status=6),
    throws("module turned by a half", spoil(turn_deg=[0, 0, 180]), seen="the other way", status=6),
    throws("module on its head", spoil(turn_deg=[0, 180, 0]), seen="than any surface does"),
    calibrate("module turned by a quarter", QUARTER, seen="arrow down, turned 180°, 7 of 12"),
    throws("bias steps by 30 mg across gravity", ACROSS, seen=CAME_BACK, status=6),
    throws("bias steps by 30 mg along gravity", ALONG, seen=NOT_AS_CALIBRATED, status=6),
    sweep("bias steps by 30 mg across gravity", ACROSS, seen=CAME_BACK, status=6),
    calibrate("bias steps by 30 mg", ACROSS, seen="a poor calibration", status=7),
    closure("bias steps by 30 mg after the datum", ACROSS, seen="neutrals read since are off", status=6),
    throws("bias drifts by 3 mg/s", spoil(drift_mg_s=[0, 3, 0]), seen=RESTLESS),
    throws("bias drifts by 0.1 mg/s", spoil(drift_mg_s=[0, 0.1, 0]), status=0),
    throws("reads 2 % more", spoil(scale_percent=[2, 2, 2]), seen=NOT_AS_CALIBRATED, status=6),
    throws("y reads 20 % less", spoil(scale_percent=[0, -20, 0]), seen=NOT_AS_CALIBRATED, status=6),
    throws("samples 2 % too often", truth={"clock_percent": 2}, status=0),
    sweep("samples 2 % too often", truth={"clock_percent": 2}, status=0),
    throws("15 °C warmer", *WARM, seen="warmer than when calibrated", status=6),
    throws("20 °C warmer, ADXL345: no thermometer", *WARMER, seen=CAME_BACK, status=6, **BLIND),
    throws("tape slips by 1.5° about the hinge", knock(1.5, 0, 0), seen=CAME_BACK, rounds=2, status=0),
    throws("tape slips by 3° across the hinge", knock(0, 3, 0), seen=ASKEW, status=6),
    throws("cable tugged, its contact breaks", *TUGGED, seen=LOST, status=0),
    throws("cable tugged, nothing gives", knock(), status=0),
    throws("another module of its kind, since the datum", truth=ANOTHER, seen=NOT_AS_CALIBRATED, status=6),
    throws("another module of its kind, in the midst", *EXCHANGED, seen=NOT_AS_CALIBRATED, status=6),
    throws(
        "another kind of module, since the datum", truth={"chip": "mpu6500"}, seen="calibrated as a mpu6050", status=7
    ),
    throws("cables of left and right swapped, since the datum", seen=NOT_AS_CALIBRATED, status=6, **ALIKE),
    throws("cable pulled", deed("unplug", board="bench"), seen="hingeline: ", status=3),
)
"""Across gravity is along y here, about the hinge; along it is z. What is to be told at neutral is off by 0.15° more
than the 0.3° that are granted there, six standard uncertainties of a rest: 8 mg at 20 °C."""
