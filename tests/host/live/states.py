"""States to be shown: invented, with the truths written out."""

from hingeline.procedures.state import Gap, Place, SensorState, Size, State


def gap(side="left", word="MORE", deg=1.63, mm=1.36, tolerances=3.0) -> Gap:
    """The gap of a side that is wanted at -24.5° or -20.4 mm."""
    return Gap(
        side,
        Size(-24.5 + deg, -20.4 + mm),
        Size(0.07, 0.06),
        word,
        Size(deg, mm),
        Size(-24.5, -20.4),
        tolerances,
    )


def sensor(side="left", condition="live", age_s=0.02, temperature_c=24.3) -> SensorState:
    """The state of a sensor."""
    return SensorState(side, f"00abcd-{side}", condition, 0.0, temperature_c, age_s)


SENSORS = (sensor(), sensor("right"))


def state(*gaps: Gap, sensors=SENSORS, unit="mm", **fields) -> State:
    """The state of a flap that is to go down."""
    return State("flap: down (normal), all the way, and hold.", gaps, tuple(sensors), unit, **fields)


BOTH = state(gap("left", "LESS", -1.9, -1.55), gap("right"), taken=2, messages=("Neutral taken.", "Taken."))
READING = """flap, up (normal)
left LESS 0.90°: set the end point from 100 % to 85 % (± 0.8 %): trailing edge down 0.89°
right MORE 0.78°: set the end point from 100 % to 118 % (± 1.4 %): trailing edge up 0.76°
left - right right 1.7° short of left"""
MATCH = state(gap("left", "WITHIN", 0.08, 0.06, 0.2), gap("right", "WITHIN", -0.1, -0.08, 0.4))
PUSHED = State(
    "flap left, 1: push it down, lightly, and hold.",
    (Place("left", Size(-0.42, -0.35), Size(0.05, 0.04)),),
    (sensor(),),
    "mm",
    taken=3,
    messages=("Taken back: reading 3 of 8.",),
)
LOST = state(sensors=(sensor(condition="lost", age_s=0.42), sensor("right")))
