"""Which positions a surface is measured at: what moves opposed is paired by its stick."""

import pytest

from hingeline.checks.positions import positions
from hingeline.rig import load_sheet

HEAD = 'schema_version = 1\naircraft = "Pairs"\nmodes = ["low"]\n'


@pytest.fixture
def found(tmp_path):
    """Return what a surface's table comes to: for each position its command and each side's target in degrees."""

    def read(surface: str, table: str):
        path = tmp_path / "pairs.rig.toml"
        path.write_text(f"{HEAD}[surface.{surface}]\n{table}\n")
        return [
            (
                one.mode,
                one.command,
                {side: target.deflection_deg for side, target in one.targets.items()},
                one.opposed,
            )
            for one in positions(load_sheet(path), surface)
        ]

    return read


def test_flaps_move_together(found):
    assert found("flap", 'throws.low = { up = "5 deg", down = "20 deg" }') == [
        ("low", "up", {"left": 5, "right": 5}, False),
        ("low", "down", {"left": -20, "right": -20}, False),
    ]


def test_an_aileron_rises_on_the_side_the_stick_goes_to(found):
    """Right stick, right aileron up (trade, direction check from behind)."""
    assert found("aileron", 'throws.low = { up = "14 deg", down = "9 deg" }') == [
        ("low", "stick left", {"left": 14, "right": -9}, True),
        ("low", "stick right", {"left": -9, "right": 14}, True),
    ]


def test_an_aileron_with_nearly_all_differential_still_goes_both_ways(found):
    assert found("aileron", 'throws.low = { up = "14 deg", down = "0.8 deg" }')[0][2:] == (
        {"left": 14, "right": -0.8},
        True,
    )
    assert found("aileron", 'throws.low = { up = "0.8 deg", down = "14 deg" }')[0][2:] == (
        {"left": 0.8, "right": -14},
        True,
    )


def test_an_aileron_that_only_rises(found):
    assert found("aileron", 'throws.low = { up = "14 deg" }') == [
        ("low", "stick left", {"left": 14}, False),
        ("low", "stick right", {"right": 14}, False),
    ]


def test_a_v_tail_goes_with_the_rudder(found):
    """Rudder to the right turns both trailing edges right: the left one, which leans outward, rises."""
    table = 'as_elevator.low = { up = "8 deg" }\nas_rudder.low = { up = "7 deg", down = "9 deg" }'
    assert found("v-tail", table) == [
        ("low", "elevator up", {"left": 8, "right": 8}, False),
        ("low", "rudder left", {"left": -9, "right": 7}, True),
        ("low", "rudder right", {"left": 7, "right": -9}, True),
    ]


def test_an_elevon_is_both(found):
    table = 'as_aileron.low = { up = "12 deg", down = "8 deg" }\nas_elevator.low = { up = "9 deg", down = "7 deg" }'
    assert [row[1] for row in found("elevon", table)] == [
        "stick left",
        "stick right",
        "elevator up",
        "elevator down",
    ]


def test_a_rudder_of_one_piece(found):
    assert found("rudder", 'throws.low = { left = "25 deg", right = "30 deg" }') == [
        ("low", "left", {"middle": 25}, False),
        ("low", "right", {"middle": -30}, False),
    ]


def test_a_preset_moves_both_sides_alike(found):
    table = 'throws.low = { up = "9 deg", down = "6 deg" }\n[preset.low.crow]\naileron = "12 deg up"'
    assert found("aileron", table)[-1] == ("low", "crow", {"left": 12, "right": 12}, False)
