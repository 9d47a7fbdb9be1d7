"""Scenarios of the virtual bench for the tests of calibration and datum, as text."""

ONE = """
seed = 5
speed = 8
[table]
tilt_deg = 0.4
direction_deg = 35
[[boards]]
name = "bench"
[[boards.sensors]]
name = "left"
chip = "mpu6050"
bias_mg = [40, -30, 60]
scale_percent = [2, -2, 1]
cross_axis_percent = [1, -1, 1, 1, -1, 1]
square_deg = { "+x" = [0.3, -0.2], "-y" = [-0.3, 0.2], "+z" = [0.2, 0.3] }
"""
"""A carrier of 0.3° out of square on a table 0.4° off level."""

STEEP = ONE.replace("tilt_deg = 0.4", "tilt_deg = 3").replace(
    'square_deg = { "+x" = [0.3, -0.2], "-y" = [-0.3, 0.2], "+z" = [0.2, 0.3] }', ""
)
"""A square carrier on a table 3° off level."""

WARMING = (
    STEEP.replace("speed = 8", "speed = 15")
    .replace("tilt_deg = 3", "tilt_deg = 0")
    .replace("bias_mg = [40, -30, 60]", "bias_mg = [0, 0, 0]")
    + """
self_heating_c = 9
tempco_mg_c = [0.3, 0.4, -0.2]
[room]
warming_s = 15
"""
)
"""A level table, and a chip that warms by 9 °C, for which one waits, and drifts within its datasheet."""

FAULTY = """
seed = 6
speed = 2
[[boards]]
name = "bench"
pins = "pico"
[[boards.sensors]]
name = "sound"
chip = "mpu6050"
address = 0x68
[[boards.sensors]]
name = "saturated"
chip = "mpu6050"
address = 0x69
bias_mg = [1100, 0, 0]
[[boards.sensors]]
name = "dead"
chip = "mpu6050"
bus = 1
address = 0x68
scale_percent = [0, -100, 0]
[[boards.sensors]]
name = "halved"
chip = "mpu6050"
bus = 1
address = 0x69
scale_percent = [-50, -50, -50]
"""
"""One sound sensor beside three whose x saturates, whose y is dead, and whose range is not what it says."""

POOR = ONE.replace("scale_percent = [2, -2, 1]", "scale_percent = [8, -2, 1]")
"""A scale beyond every datasheet."""


def eight() -> str:
    """Two boards with four sensors each."""
    sensors = "".join(
        f'[[boards.sensors]]\nname = "{{board}} {bus} {address}"\nchip = "mpu6050"\nbus = {bus}\naddress = {address}\n'
        for bus in (0, 1)
        for address in (0x68, 0x69)
    )
    boards = "".join(f'[[boards]]\nname = "{name}"\n{sensors.format(board=name)}' for name in ("one", "two"))
    return f"seed = 8\nspeed = 1.5\n{boards}"
