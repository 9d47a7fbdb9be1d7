"""Which way each surface goes, typed from the trade, and points in space that go there.

The table, docs/directions.txt, is what a pilot says aloud behind the model. Nothing of it is read from the code: a
trailing edge is a point that turns about two points of its hinge, and up, down, left and right are where that point
goes, as seen from behind. docs/direction.svg draws it.
"""

import math
from pathlib import Path

import numpy as np
import pytest
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, instrument

from hingeline.checks.direction import commands, judge_direction
from hingeline.measure.neutral import NeutralReading
from hingeline.rig.kinds import KINDS
from hingeline.rig.surface import Surface
from hingeline_calibration.still import summarise

TABLE = Path(__file__).parents[3] / "docs/directions.txt"
ROWS = [
    (kind, int(dihedral), f"{stick} {way}", left, right)
    for kind, dihedral, stick, way, left, right in (
        line.split() for line in TABLE.read_text(encoding="utf-8").splitlines() if not line.startswith("#")
    )
]
GOES = {"up": (2, 1.0), "down": (2, -1.0), "left": (0, 1.0), "right": (0, -1.0)}
"""The coordinate that grows or shrinks: X to the model's left, Y aft, Z up."""
OPPOSITE = {"up": "down", "down": "up", "left": "right", "right": "left"}


def turned(point, start, end, degrees):
    """A point after a turn about the line through two others: it stays in its plane, on its circle."""
    along = (end - start) / math.dist(start, end)
    foot = start + along * sum(along * (point - start))
    out = point - foot
    aside = np.cross(along, out)
    return foot + math.cos(math.radians(degrees)) * out + math.sin(math.radians(degrees)) * aside


def lying_on_its_right_side(point):
    """Where a point of the model comes to be: what was left is up now, what was up is right."""
    return np.array([-point[2], point[1], point[0]])


def reading(kind, dihedral_deg, side, goes):
    """What the carrier on one side feels after its trailing edge went 10° where the table says, or stayed."""
    raised = math.radians(dihedral_deg)
    outboard = np.array([math.cos(raised), 0.0, math.sin(raised)])
    if side == "right":
        outboard[0] = -outboard[0]
    root, tip = 100.0 * outboard, 200.0 * outboard
    edge = 150.0 * outboard + [0.0, 50.0, 0.0]
    over = np.array([-outboard[2], 0.0, outboard[0]]) * (1.0 if outboard[0] > 0 else -1.0)
    if kind == "rudder":  # the carrier lies on the fin's left skin, and the model on its right side
        root, tip, over = np.array([0.0, 0.0, 100.0]), np.array([0.0, 0.0, 200.0]), np.array([1.0, 0.0, 0.0])
        edge = np.array([0.0, 50.0, 150.0])
    hinge = (root + tip) / 2
    lid = hinge + over
    if goes:
        axis, sign = GOES[goes]
        by_deg = next(d for d in (10.0, -10.0) if sign * (turned(edge, root, tip, d) - edge)[axis] > 1.0)
        edge, lid = turned(edge, root, tip, by_deg), turned(lid, root, tip, by_deg)
    if kind == "rudder":
        hinge, edge, lid = map(lying_on_its_right_side, (hinge, edge, lid))
    y, z = (edge - hinge) / math.dist(edge, hinge), (lid - hinge) / math.dist(lid, hinge)
    x = np.cross(y, z)
    counts = COUNTS_PER_G * np.tile([x[2], y[2], z[2]], (50, 1))  # how far up each edge of the carrier points
    return summarise(np.arange(50) / LINES_HZ, counts, [None] * 50)


def judged(kind, dihedral_deg, stick, goes):
    surface = Surface.model_validate({"kind": kind, "sides": list(goes), "dihedral": f"{dihedral_deg} deg"})
    sides = tuple(instrument(side) for side in goes)
    neutral, there = (
        {f"b-{side}": reading(kind, dihedral_deg, side, way) for side, way in places.items()}
        for places in (dict.fromkeys(goes), goes)
    )
    (command,) = (command for command in commands(surface) if command.stick == stick)
    return judge_direction(kind, command, NeutralReading(sides, neutral).deflections(there))


@pytest.mark.parametrize(("kind", "dihedral_deg", "stick", "left", "right"), ROWS)
def test_each_side_is_right_where_the_trade_says_and_wrong_elsewhere(kind, dihedral_deg, stick, left, right):
    result = judged(kind, dihedral_deg, stick, {"left": left, "right": right})
    assert result.inside
    result = judged(kind, dihedral_deg, stick, {"left": OPPOSITE[left], "right": right})
    assert [result.sides[side].right_way for side in ("left", "right")] == [False, True]
    result = judged(kind, dihedral_deg, stick, {"left": left, "right": OPPOSITE[right]})
    assert [result.sides[side].right_way for side in ("left", "right")] == [True, False]


@pytest.mark.parametrize(("kind", "stick", "goes"), [
    ("elevator", "Stick back", "up"), ("rudder", "Rudder right", "right"), ("flap", "Flaps down", "down"),
    ("spoiler", "Spoilers out", "up"), ("airbrake", "Airbrakes out", "up"),
])  # fmt: skip
def test_a_surface_in_one_piece(kind, stick, goes):
    assert judged(kind, KINDS[kind].dihedral_deg, stick, {"middle": goes}).inside
    assert not judged(kind, KINDS[kind].dihedral_deg, stick, {"middle": OPPOSITE[goes]}).inside


def test_the_table_has_every_command_of_every_kind():
    asked = {
        (kind, command.stick)
        for kind in KINDS
        for command in commands(Surface.model_validate({"kind": kind, "sides": ["left", "right"]}))
    }
    assert asked == {(kind, stick) for kind, _, stick, *_ in ROWS}
