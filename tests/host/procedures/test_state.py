"""What is shown at one moment: plain and frozen; it ages, and its numbers are right."""

from dataclasses import FrozenInstanceError, fields, is_dataclass
from types import NoneType
from typing import Literal, get_args, get_origin, get_type_hints

import numpy as np
import pytest
from tests.host.procedures.moments import moment, passing

from hingeline.measure.cautions import Doubt
from hingeline.procedures.state import STALE_S, Gap, SensorState, Size, State, sides_of

PLAIN = {str, int, float, bool, NoneType}


def parts(kind):
    """The types that a type holds, however deep, itself included."""
    yield kind
    inner = get_type_hints(kind).values() if is_dataclass(kind) else get_args(kind)
    for part in inner if get_origin(kind) is not Literal else ():
        if part is not ...:
            yield from parts(part)


def test_a_state_and_all_that_it_holds_is_frozen():
    """It is all that the measuring thread and the one that shows have in common."""
    kinds = set(parts(State))
    held = {kind for kind in kinds if is_dataclass(kind)}
    assert {State, Gap, SensorState} < held
    assert all(kind.__dataclass_params__.frozen for kind in held)
    leaves = {kind for kind in kinds - held if get_origin(kind) not in (Literal, tuple) and not get_args(kind)}
    assert leaves <= PLAIN


def test_a_state_can_t_be_changed():
    shown = State("up")
    for name in (field.name for field in fields(State)):
        with pytest.raises(FrozenInstanceError):
            setattr(shown, name, None)


def sensor(side="left", condition="live", heard_s=100.0):
    return SensorState(side, f"{side}-104", condition, heard_s, 24.3)


def gaps():
    return sides_of([moment(-28.0)])[0]


@pytest.mark.parametrize("condition", ["live", "moving", "frozen"])
def test_a_sensor_is_lost_once_it_was_not_heard_for_long(condition):
    heard = sensor(condition=condition)
    assert heard.at(100 + STALE_S - 0.01).condition == condition
    aged = heard.at(100 + STALE_S + 0.01)
    assert aged.condition == "lost"
    assert aged.age_s == pytest.approx(STALE_S + 0.01)


def test_one_whom_nobody_listens_to_is_not_missed():
    assert sensor(condition="waiting").at(1e6).condition == "waiting"
    assert not State("", sensors=(sensor(condition="waiting"),)).at(1e6).alarms


@pytest.mark.parametrize(
    ("condition", "has_numbers"),
    [("live", True), ("moving", True), ("frozen", False), ("lost", False), ("waiting", False)],
)
def test_there_is_a_number_only_while_every_sensor_measures(condition, has_numbers):
    shown = State("", gaps(), (sensor(condition=condition), sensor("right"))).at(100.02)
    assert bool(shown.sides) == has_numbers
    assert bool(shown.alarms) == (condition in ("frozen", "lost"))


def test_an_old_number_is_never_shown():
    shown = State("", gaps(), (sensor(), sensor("right", heard_s=100.2)))
    aged = shown.at(100 + STALE_S + 0.01)
    assert [alarm.side for alarm in aged.alarms] == ["left"]
    assert not aged.sides
    assert shown.sides


def test_a_sensor_in_words():
    assert sensor().at(100.02).text == "left sensor live, 24.3 °C"
    assert sensor().at(100.42).text == "left sensor lost for 0.4 s, 24.3 °C"
    assert SensorState("a-104", "a-104", "live").text == "sensor a-104 live"


@pytest.mark.parametrize(
    ("taken", "back", "text"), [(0, 0, "0 taken"), (3, 0, "3 taken"), (3, 1, "3 taken, 1 taken back")]
)
def test_how_many_were_taken_in_words(taken, back, text):
    assert State("", taken=taken, taken_back=back).taken_text == text


def test_a_gap_is_along_the_throw_in_degrees_and_mm():
    ((gap,), problem, unit) = sides_of([moment(-28.0, chord_mm=50.0)])
    assert (problem, unit) == ("", "deg")
    assert gap.to_go.deg == pytest.approx(2.0)
    assert gap.wanted.mm == pytest.approx(-25.882, abs=5e-4)  # tip to tip, shared check values
    assert gap.to_go.mm == pytest.approx(25.882 - 2 * 50 * np.sin(np.radians(14)), abs=5e-4)
    assert gap.reach.deg == pytest.approx(2 * 0.01, rel=0.02)  # 95 %
    assert gap.tolerances == pytest.approx(2.0 / 0.5)
    assert not gap.inside


def test_where_nothing_is_wanted_there_is_a_place_and_no_gap():
    ((place,), problem, unit) = sides_of([passing(-28.0)])
    assert (problem, unit) == ("", "deg")
    assert place.now.mm == pytest.approx(-2 * 50 * np.sin(np.radians(14)), abs=5e-4)  # tip to tip
    assert place.reach.deg == pytest.approx(2 * 0.01, rel=0.02)  # 95 %
    assert not State("", (place,)).gaps


@pytest.mark.parametrize(
    ("now_deg", "sd_deg", "wrong", "doubt"),
    [
        (-30.1, 0.3, None, "left: NO VERDICT, known to ±0.59° only"),
        (-30.1, 0.01, Doubt("it slipped", "press it on"), "left: NO VERDICT, it slipped: press it on"),
        (-28.0, 0.3, None, ""),
        (-30.1, 0.2, None, ""),
    ],
)
def test_a_side_in_doubt_has_its_number_and_no_word(now_deg, sd_deg, wrong, doubt):
    """WITHIN takes a 95 % uncertainty within the tolerance, of 0.5° here; what is surely out takes none."""
    right = moment(-28.0, side="right")
    sides, problem, _ = sides_of([right, moment(now_deg, sd_deg=sd_deg, wrong=wrong)])
    assert problem == doubt
    assert [side.side for side in sides] == ["left", "right"], "as they are on the model"
    assert [isinstance(side, Gap) for side in sides] == [not doubt, True]


@pytest.mark.parametrize(("units", "common"), [(("mm", "mm"), "mm"), (("deg", "deg"), "deg"), (("mm", "deg"), "deg")])
def test_the_unit_is_the_sheet_s_where_all_sides_have_the_same(units, common):
    sides = [
        moment(-28.0, side=side, chord_mm=50.0, unit=unit) for side, unit in zip(("left", "right"), units, strict=True)
    ]
    assert sides_of(sides)[2] == common


@pytest.mark.parametrize(
    ("size", "unit", "reach", "text"),
    [
        (Size(1.234), "deg", None, "+1.23°"),
        (Size(-9.99), "deg", None, "-9.99°"),
        (Size(10.5), "deg", None, "+10.5°"),  # three digits are read from afar
        (Size(99.9), "deg", None, "+99.9°"),
        (Size(105.0), "deg", None, "+105°"),
        (Size(1.234), "deg", Size(0.05), "+1.23°"),
        (Size(1.234), "deg", Size(0.055), "+1.2°"),
        (Size(105.0), "deg", Size(0.3), "+105°"),
        (Size(1.0, 12.7), "mm", None, "+12.7 mm"),
        (Size(1.0, 1.27), "mm", Size(0.01, 0.2), "+1.3 mm"),
        (Size(1.0, 1.27), "mm", Size(9.0, 0.02), "+1.27 mm"),
        (Size(1.0, 12.7), "in", None, "+.500 in"),  # of 25.4 mm
        (Size(1.0, 12.7), "in", Size(0.01, 0.045), "+.500 in"),
        (Size(1.0, 12.7), "in", Size(0.01, 0.055), "+.50 in"),  # known as well as mm in tenths
        (Size(1.0, -27.94), "in", None, "-1.10 in"),
        (Size(1.0), "mm", None, "+1.00°"),  # without a chord there are no mm
    ],
)
def test_a_number_has_the_digits_that_are_known_and_read_from_afar(size, unit, reach, text):
    """Tenths where ± is above 0.05, else hundredths; an inch has a digit more."""
    assert size.text(unit, reach).replace("\N{NARROW NO-BREAK SPACE}", " ") == text
    assert size.unsigned(unit, reach) == size.number(unit, reach)[1:]


def test_sizes_are_taken_from_each_other_as_long_as_both_have_a_chord():
    far, near = Size(3.0, 6.0), Size(1.0, 1.5)
    assert far.minus(near) == Size(2.0, 4.5)
    assert near.times(-2) == Size(-2.0, -3.0)
    assert far.minus(Size(1.0)) == Size(3.0).minus(near) == Size(2.0)
    assert Size(3.0).times(2) == Size(6.0)


@pytest.mark.parametrize(("tolerances", "inside"), [(0.0, True), (1.0, True), (1.01, False)])
def test_a_gap_as_large_as_the_tolerance_is_within(tolerances, inside):
    gap = Gap("left", Size(0.0), Size(0.1), "WITHIN", Size(0.0), Size(0.0), tolerances)
    assert gap.inside is inside
