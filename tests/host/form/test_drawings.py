"""The drawings of a surface, read as a ruler and a protractor would read them: from the ends of their lines."""

import math
import re

import pytest

from hingeline.form.drawings import drawings

NUMBER = r"(-?[\d.]+)"
SIDES = {"section": 0, "above": 1, "behind": 2}


def drawing(which: str, **typed: str) -> str:
    """One of the three drawings."""
    return str(drawings(typed)).split("</figure>")[SIDES[which]]


def dimension(text: str) -> tuple[float, ...]:
    """From where to where the dimension line goes: the first line of the path that has ticks."""
    found = re.search(rf'<path d="M{NUMBER} {NUMBER}L{NUMBER} {NUMBER}M{NUMBER} {NUMBER}L', text)
    return tuple(map(float, found.groups()[:4]))


def test_the_chord_goes_from_the_hinge_axis_to_the_trailing_edge_level():
    """The section lies level: its chord does, too."""
    text = drawing("section")
    axis = float(re.search(rf'<circle cx="{NUMBER}"', text)[1])
    trailing = max(float(x) for x in re.findall(rf"L{NUMBER} 52L", text))
    assert dimension(text) == (axis, 86.0, trailing, 86.0)


@pytest.mark.parametrize(("hinge", "is_above"), [("top", True), ("bottom", False)])
def test_a_hinge_in_a_skin_lies_above_or_below_the_middle(hinge, is_above):
    middle, moved = (float(re.search(rf'cy="{NUMBER}"', drawing("section", hinge=where))[1]) for where in ("", hinge))
    assert (moved < middle) is is_above


@pytest.mark.parametrize("dihedral_deg", [-5.0, 3.0, 35.0, 60.0])
def test_the_hinge_seen_from_behind_rises_as_it_was_typed(dihedral_deg):
    """A protractor at its root, which stands on the level line, reads the angle; it stays within the picture."""
    text = drawing("behind", dihedral=f"{dihedral_deg} deg")
    level = float(re.search(rf'd="M24 {NUMBER}H176"', text)[1])
    root_x, root_y, tip_x, tip_y = map(float, re.search(rf'd="M{NUMBER} {NUMBER}L{NUMBER} {NUMBER}"', text).groups())
    assert root_y == level
    assert math.degrees(math.atan2(root_y - tip_y, tip_x - root_x)) == pytest.approx(dihedral_deg, abs=0.1)
    assert 0 <= tip_x <= 200
    assert 0 <= tip_y <= 120


def test_a_swept_hinge_goes_aft_to_its_tip_and_the_station_is_measured_from_its_root():
    text = drawing("above", sweep="25 deg")
    root_x, root_y, _, tip_y = map(
        float, re.search(rf'd="M{NUMBER} {NUMBER}L{NUMBER} {NUMBER}" stroke-dasharray', text).groups()
    )
    assert tip_y > root_y, "aft is down, as seen from above"
    start_x, start_y, end_x, end_y = dimension(text)
    assert (start_x, start_y) == (root_x, end_y)
    assert end_x == float(re.search(rf'd="M{NUMBER} [^"]*v22"', text)[1]), "at the station"
