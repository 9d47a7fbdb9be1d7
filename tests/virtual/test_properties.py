"""Scenario files: what was written is loaded, what was spoilt is refused with what is to be mended."""

from __future__ import annotations

import tempfile
from pathlib import Path

import tomlkit
from hypothesis import given
from hypothesis import strategies as st
from tests.spoilt import FEW, JSON, refused_as, spoilt_bytes

from hingeline.demo.job import SCENARIO
from hingeline.errors import ScenarioError
from hingeline_virtual.scenario import Scenario
from hingeline_virtual.scenario_file import load_scenario

SOUND = SCENARIO.read_bytes()
names = st.from_regex(r"[a-z0-9][a-z0-9_-]{0,8}", fullmatch=True).filter(lambda name: name not in ("all", "neutral"))
figures = st.floats(-50, 50)
vectors = st.tuples(figures, figures, figures).map(list)
sensors = st.fixed_dictionaries(
    {"name": names, "chip": st.sampled_from(["mpu6050", "lis3dh"]), "bus": st.integers(0, 1)},
    optional={
        "identity": st.integers(0, 255),
        "bias_mg": vectors,
        "cross_axis_percent": st.lists(figures, min_size=6, max_size=6),
        "self_heating_c": st.floats(0, 20),
        "square_deg": st.dictionaries(st.sampled_from(["+x", "-z"]), st.tuples(figures, figures).map(list)),
    },
)
surfaces = st.fixed_dictionaries(
    {"name": names, "side": st.sampled_from(["left", "right", "middle"])},
    optional={"sweep_deg": figures, "positions": st.dictionaries(names, figures, max_size=2)},
)
scenarios = st.fixed_dictionaries(
    {
        "seed": st.integers(0, 2**62),
        "speed": st.floats(0, 1000),
        "table": st.fixed_dictionaries({}, optional={"tilt_deg": st.floats(0, 20), "direction_deg": figures}),
        "boards": st.lists(
            st.fixed_dictionaries(
                {
                    "name": names,
                    "first_ticks_us": st.integers(0, 2**30 - 1),
                    "sensors": st.lists(sensors, min_size=1, max_size=2, unique_by=lambda table: table["bus"]),
                }
            ),
            min_size=1,
            max_size=2,
        ),
        "surfaces": st.lists(surfaces, max_size=2, unique_by=lambda table: table["name"]),
        "steps": st.lists(
            st.fixed_dictionaries({"do": st.just("wait"), "for_s": st.floats(0.001, 9)})
            | st.fixed_dictionaries({"do": st.just("attitude"), "roll_deg": figures}),
            max_size=3,
        ),
    }
)


def unlike(scenario):
    """Give boards and sensors names and ids of their own, as a scenario must have them."""
    for i, board in enumerate(scenario["boards"]):
        board["name"] = f"{i}{board['name']}"
        for j, sensor in enumerate(board["sensors"]):
            sensor["name"] = f"{i}{j}{sensor['name']}"
    return scenario


def loaded(content: bytes) -> Scenario:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "s.toml"
        path.write_bytes(content)
        return load_scenario(path)


def within(part, whole):
    """Whether all that a file tells is in what was loaded."""
    if isinstance(part, dict):
        return all(within(value, whole[key]) for key, value in part.items())
    if isinstance(part, list):
        return len(part) == len(whole) and all(map(within, part, whole))
    return part == whole


@FEW
@given(scenarios.map(unlike))
def test_a_scenario_is_loaded_as_it_was_written(written):
    scenario = loaded(tomlkit.dumps(written).encode())
    whole = scenario.model_dump()
    assert within(written, whole)
    assert loaded(tomlkit.dumps(scenario.model_dump(exclude_none=True)).encode()) == scenario


@FEW
@given(spoilt_bytes(SOUND) | st.binary(max_size=60))
def test_a_spoilt_scenario_is_refused_with_what_is_to_be_mended(content):
    with refused_as(ScenarioError):
        loaded(content)


@FEW
@given(st.sampled_from(["seed", "boards", "surfaces", "steps", "hands", "other"]), JSON)
def test_no_value_raises_anything_but_a_scenario_error(key, value):
    document = tomlkit.parse(SOUND.decode()).unwrap()
    try:
        text = tomlkit.dumps({**document, key: value})
    except (TypeError, ValueError):  # TOML has no null
        return
    with refused_as(ScenarioError):
        loaded(text.encode())
