"""Reads a scenario file, and finds what is wrong between keys that are each right."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from hingeline.device.install.pin_maps import pin_maps
from hingeline.errors import ScenarioError
from hingeline.rig.toml_mistakes import Key, KeyMistake, nearest, one_of
from hingeline.rig.toml_models import TomlModel, parse, read_text
from hingeline_virtual.chips import CHIPS
from hingeline_virtual.commands import ALL, Command
from hingeline_virtual.scenario import Scenario


def load_scenario(path: Path) -> Scenario:
    """Read the scenario in a file.

    Raises
    ------
    ScenarioError
        The file can't be read, or has something to fix: every problem with its line, key and cure.
    """
    return parse(read_text(path, ScenarioError), str(path), Scenario, ScenarioError, contradictions)


def contradictions(scenario: Scenario) -> Iterator[KeyMistake]:
    """Yield names and addresses used twice, pin maps and buses no board has, steps with unknown names."""
    boards = [(("boards", i), board) for i, board in enumerate(scenario.boards)]
    sensors = [((*key, "sensors", j), sensor) for key, board in boards for j, sensor in enumerate(board.sensors)]
    yield from _twice("name", boards)
    yield from _twice("uid", boards)
    yield from _twice("name", sensors)
    yield from _twice("name", [(("surfaces", i), surface) for i, surface in enumerate(scenario.surfaces)])
    yield from _wiring(scenario)
    for i, step in enumerate(scenario.steps):
        yield from _unknown_names(("steps", i), step, scenario)


def _twice(attribute: str, tables: Sequence[tuple[Key, TomlModel]]) -> Iterator[KeyMistake]:
    used = {ALL}
    for key, table in tables:
        value = getattr(table, attribute)
        if value in used:
            expected = f"a {attribute} that nothing else has"
            yield KeyMistake((*key, attribute), f"found {value!r}", expected, "Give it another")
        used.add(value)


def _wiring(scenario: Scenario) -> Iterator[KeyMistake]:
    for i, board in enumerate(scenario.boards):
        key: Key = ("boards", i)
        pin_map = pin_maps().get(board.pins)
        if pin_map is None:
            cure = nearest(board.pins, pin_maps()) or 'Write pins = "pico"'
            yield KeyMistake((*key, "pins"), f"no such pin map as {board.pins!r}", one_of(sorted(pin_maps())), cure)
            continue
        on_i2c, on_spi = [number for number, _, _ in pin_map.lines], [row["id"] for row in pin_map.spi]
        places = set()
        for j, sensor in enumerate(board.sensors):
            place = (sensor.bus, sensor.address)
            buses = on_spi if CHIPS[sensor.chip].BUS else on_i2c
            if sensor.bus not in buses:
                expected = f"a bus for {sensor.chip} of the pin map {board.pins}"
                cure = f"Write bus = {min(buses)}"
                yield KeyMistake((*key, "sensors", j, "bus"), f"found {sensor.bus}", expected, cure)
            if place in places:
                content = f"address 0x{sensor.address:02x} of bus {sensor.bus} is another sensor's"
                yield KeyMistake((*key, "sensors", j), content, "an address of its own", "Change bus or address")
            places.add(place)


def _unknown_names(key: Key, step: Command, scenario: Scenario) -> Iterator[KeyMistake]:
    positions = {"neutral", *(position for surface in scenario.surfaces for position in surface.positions)}
    known: dict[str, Collection[str]] = {
        "sensor": [sensor.name for board in scenario.boards for sensor in board.sensors],
        "surface": [surface.name for surface in scenario.surfaces],
        "board": [board.name for board in scenario.boards],
        "position": sorted(positions),
    }
    for kind, choices in known.items():
        names = getattr(step, kind, [])
        for name in [names] if isinstance(names, str) else names:
            if name not in choices and name != ALL:
                cure = nearest(name, choices) or f"Name a {kind} of the scenario"
                yield KeyMistake((*key, kind), f"no such {kind} as {name!r}", one_of(choices), cure)
