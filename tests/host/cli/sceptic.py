"""The sceptical expert, before the demonstration's sensors, so that its calibrations hold, on other surfaces."""

from pathlib import Path

import tomlkit
from tests.host.person import Outcome, Person

from hingeline.demo.job import SCENARIO

SHEET = str(Path(__file__).with_name("sceptic.rig.toml"))

SURFACES = {
    "tab": {},
    "raised": {"dihedral_deg": 45, "positions": {"raised up": 30}},
    "yawed": {"mounting_yaw_deg": 20, "positions": {"yawed up": 30, "yawed down": -30}},
    "ruler": {"positions": {"ruler up": 20}, "compliance_deg": 1.5},
    "height": {"positions": {"height up": 20}},
    "faired": {"neutral_deg": 3, "positions": {"faired": -3}},
    "clevis": {},
    "trimmed": {},
    "swept": {"sweep_deg": 30, "dihedral_deg": 10, "skin_slope_deg": -4, "positions": {"swept up": 25}},
}
"""What both sides of each surface are."""
FIXED_BOARD = {"name": "fixed", "sensors": [{"name": "fixed", "chip": "mpu6050", "address": 0x68}]}
"""A further sensor without any error, to be taped on the fixed part."""


def surfaces() -> list[dict]:
    """Return the tables of all surfaces of the scenario."""
    pairs = [
        {"name": f"{name} {side}", "side": side, **truths}
        for name, truths in SURFACES.items()
        for side in ("left", "right")
    ]
    ailerons = [
        {"name": "aileron left", "side": "left", "positions": {"stick left": 14, "stick right": -9}},
        {"name": "aileron right", "side": "right", "positions": {"stick left": -9.2, "stick right": 13.9}},
    ]
    fin = {"name": "fin", "side": "middle", "dihedral_deg": 90, "positions": {"fin left": 20}}
    return [*pairs, *ailerons, fin, {"name": "wing", "side": "middle", "skin_slope_deg": -2}]


def write_scenario(path: Path, **keys) -> Path:
    """Write the scenario, with further keys of its own; those of `sensors` go to every sensor."""
    scenario = tomlkit.parse(SCENARIO.read_text()).unwrap()
    further = keys.pop("sensors", {})
    for sensor in scenario["boards"][0]["sensors"]:
        sensor.update(further)
    scenario["boards"] += keys.pop("boards", [])
    path.write_text(tomlkit.dumps({**scenario, "surfaces": surfaces(), **keys}))
    return path


def show(what: str, truth: float, reading: float, limit: float) -> None:
    """Print a row of the table, and hold the reading to its limit."""
    print(f"{what:<44} true {truth:+8.3f}  reads {reading:+8.3f}  limit ±{limit:.2f}")
    assert abs(reading - truth) <= limit


def throws(expert: Person, surface: str, *commands: str, options: tuple[str, ...] = ()) -> Outcome:
    """Run the throws of a surface, moved to each command in its order and back to neutral."""
    expert.tape(surface)
    return expert.run(
        "throws",
        SHEET,
        surface,
        "--json",
        *options,
        asked=(
            *((rf"{command} \(normal\), all", expert.stick(f"{surface} {command}")) for command in commands),
            (r"neutral \(normal\), sticks", expert.stick("neutral")),
        ),
    )


def readings(outcome: Outcome, surface: str, command: str) -> dict[str, dict]:
    """Return the judgements of a command by what they are of."""
    (found,) = [one for one in outcome.data["surfaces"][surface] if one["command"] == command]
    return {judgement["name"]: judgement for judgement in found["judgements"]}
