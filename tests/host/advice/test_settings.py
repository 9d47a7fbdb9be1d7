"""The settings that cure a surface, on a model aircraft that knows nothing of how they are sought.

A servo stands at trim + end point (its direction) × rate (its mode) × mix (its function), the horn turns that into an
angle: common practice, no source. Somebody has turned one of these, or several; whoever does what is advised on the
model must have every throw within the tolerance, and may spoil none.
"""

import random
from dataclasses import dataclass, field
from itertools import product

import pytest

from hingeline.advice.search import find_cures
from hingeline.advice.settings import Change, Cures, Row, Setting

NOISE_DEG = 0.03
TOLERANCE_DEG = 0.5


@dataclass
class Aircraft:
    """One surface, with its transmitter: every setting stands at 100 % unless somebody turned it.

    `wanted_deg` are the throws of the sheet, by function, mode and direction. `turned` is what was turned, by the name
    of the setting, times what it should be. `bent` is, by side, by what part of the throw a degree bends it further;
    `shifted_deg` how far both ends of a side stand off, trailing edge up.
    """

    wanted_deg: dict[tuple[str, str, str], float]
    sides: tuple[str, ...] = ("left", "right")
    turned: dict[str, float] = field(default_factory=dict)
    bent: dict[str, float] = field(default_factory=dict)
    shifted_deg: dict[str, float] = field(default_factory=dict)
    percent: dict[str, float] = field(default_factory=dict)
    presets: tuple[str, ...] = ()

    def angle_deg(self, side, function, mode, direction):
        """Where that side stands from neutral, with the stick of that function at its end."""
        part = f" of the {function}" if function else ""
        name = "" if side == "middle" else f"{side} "
        settings = (
            f"{name}end point {direction}",
            f"{mode} rate{part}",
            f"{function} mix",
            f"{name}{function} mix",
            f"{direction} side of the {function} differential",
            f"{direction} side of the {mode} differential",
            f"{direction} side of the {name}{function} mix",
            f"{name}{function} mix in {mode}",
            f"{function} mix in {mode}",
        )
        servo_deg = self.wanted_deg[function, mode, direction]
        for setting in set(settings):
            servo_deg *= self.turned.get(setting, 1.0) * self.percent.get(setting, 100.0) / 100.0
        return servo_deg + self.bent.get(side, 0.0) * servo_deg**2 + self.shifted_deg.get(side, 0.0)

    def rows(self, noise=None, unread=()):
        """What is read of it."""
        return [
            Row(
                side,
                *place,
                self.wanted_deg[place],
                TOLERANCE_DEG,
                TOLERANCE_DEG,
                None if place in unread else self.angle_deg(side, *place) + (noise.gauss(0, NOISE_DEG) if noise else 0),
                NOISE_DEG,
                place[0] in self.presets,
            )
            for place, side in product(self.wanted_deg, self.sides)
        ]

    def off(self):
        """The throws that are out of tolerance, in truth."""
        return {
            (side, *place)
            for place, side in product(self.wanted_deg, self.sides)
            if abs(self.angle_deg(side, *place) - self.wanted_deg[place]) > TOLERANCE_DEG
        }

    def follow(self, cures):
        """Do what is advised."""
        for change in cures.changes:
            if change.setting.kind == "linkage":
                self.bent[change.setting.side] = 0.0
            elif change.setting.kind == "neutral":
                self.shifted_deg[change.setting.side] += change.amount
            else:
                self.percent[change.setting.name] = change.new_percent


def throws(up_deg, down_deg, *, functions=("",), modes=("low", "high")):
    """The throws of functions in modes; each mode has twice those of the one before."""
    return {
        (function, mode, way): 2**number * deg
        for function in functions
        for number, mode in enumerate(modes)
        for way, deg in (("up", up_deg), ("down", -down_deg))
    }


AILERON = throws(10.0, 6.0)
ONE_MODE = throws(15.0, 15.0, modes=("normal",))
ELEVON = throws(8.0, 8.0, functions=("elevator", "aileron"))
FLAPERON = throws(14.0, 9.0, functions=("aileron",), modes=("normal",)) | {("flap", "normal", "down"): -20.0}
V_TAIL = throws(7.0, 7.0, functions=("elevator", "rudder"), modes=("low", "mid", "high"))
CROW = AILERON | {("crow", "low", "up"): 16.0}
FLAP = throws(5.0, 24.5, modes=("normal",)) | {("crow", "landing", "down"): -60.0}


@pytest.mark.parametrize(
    ("wanted_deg", "turned", "settings"),
    [
        pytest.param(AILERON, {"low rate": 1.2}, {"low rate"}, id="a wrong low rate"),
        pytest.param(AILERON, {"high rate": 0.85}, {"high rate"}, id="a wrong high rate"),
        pytest.param(AILERON, {"left end point up": 1.15}, {"left end point up"}, id="a wrong end point"),
        pytest.param(
            AILERON,
            {"right end point up": 0.9, "right end point down": 0.9},
            {"right end point up", "right end point down"},
            id="a servo at all its ends alike",
        ),
        pytest.param(
            AILERON,
            {"low rate": 1.3, "left end point down": 0.85},
            {"low rate", "left end point down"},
            id="a rate and an end point",
        ),
        pytest.param(
            AILERON,
            {"down side of the high differential": 0.8},
            {"down side of the high differential"},
            id="the differential of one mode",
        ),
        pytest.param(ONE_MODE, {"left end point up": 1.1}, {"left end point up"}, id="one mode alone: its end point"),
        pytest.param(ELEVON, {"elevator mix": 0.8}, {"elevator mix"}, id="one elevon function"),
        pytest.param(ELEVON, {"left aileron mix": 1.2}, {"left aileron mix"}, id="one elevon function of one servo"),
        pytest.param(
            ELEVON, {"low rate of the aileron": 0.8}, {"low rate of the aileron"}, id="one rate of one function"
        ),
        pytest.param(
            FLAPERON,
            {"down side of the aileron differential": 0.75},
            {"down side of the aileron differential"},
            id="one flaperon direction",
        ),
        pytest.param(
            FLAPERON,
            {"down side of the left aileron mix": 1.25},
            {"down side of the left aileron mix"},
            id="one flaperon direction of one servo",
        ),
        pytest.param(V_TAIL, {"rudder mix": 1.2}, {"rudder mix"}, id="one function of a V-tail in three modes"),
        pytest.param(CROW, {"crow mix in low": 0.85}, {"crow mix in low"}, id="a preset alone"),
        pytest.param(
            CROW, {"left end point up": 0.88}, {"left end point up"}, id="an end point that the preset shows too"
        ),
        pytest.param(
            FLAP,
            {"left end point down": 1.08, "left crow mix in landing": 1 / 1.08, "right end point down": 0.94},
            {"left end point down", "left crow mix in landing", "right end point down"},
            id="an end point whose preset is right, and must stay so",
        ),
    ],
)
def test_what_was_turned_is_named_and_cured(wanted_deg, turned, settings):
    aircraft = Aircraft(wanted_deg, turned=turned, presets=("crow",))
    assert aircraft.off()
    cures = find_cures(aircraft.rows(random.Random(14)))
    assert {change.setting.name for change in cures.changes} == settings
    assert (cures.remaining, cures.unread) == ((), ())
    aircraft.follow(cures)
    assert aircraft.off() == set()


@pytest.mark.parametrize("bent", [0.008, -0.01])
def test_a_bent_horn_is_a_matter_of_the_linkage(bent):
    """Up against down, more so the further it goes: no end point suits both rates."""
    aircraft = Aircraft(throws(10.0, 10.0), bent={"left": bent})
    cures = find_cures(aircraft.rows())
    (change,) = cures.changes
    assert (change.setting.name, change.setting.multiplies) == ("left linkage", False)
    assert "servo arm is square" in change.advise(change.rows[0]).text
    aircraft.follow(cures)
    assert aircraft.off() == set()


def test_a_linkage_goes_before_the_numbers_of_its_servo():
    """They were found with the linkage put right: turned before, they would spoil what is within."""
    aircraft = Aircraft(throws(10.0, 10.0, modes=("low", "mid", "high")), bent={"left": 0.006})
    aircraft.turned = {"left end point up": 1.12, "right end point down": 0.9}
    cures = find_cures(aircraft.rows())
    assert {change.setting.name for change in cures.changes} == {"left linkage", *aircraft.turned}
    assert {change.setting.name for change in cures.first} == {"left linkage", "right end point down"}
    for _round in range(2):
        aircraft.follow(Cures(find_cures(aircraft.rows(), aircraft.percent).first))
    assert aircraft.off() == set()


def test_both_ends_the_same_way_in_every_mode_are_a_matter_of_the_neutral():
    aircraft = Aircraft(throws(10.0, 10.0), shifted_deg={"right": 1.2})
    cures = find_cures(aircraft.rows())
    (change,) = cures.changes
    assert change.setting.name == "right neutral"
    assert change.amount == pytest.approx(-1.2, abs=0.1)
    aircraft.follow(cures)
    assert aircraft.off() == set()


def test_ends_off_opposite_ways_have_their_linkage_looked_at_first():
    aircraft = Aircraft(ONE_MODE, turned={"left end point up": 1.1, "left end point down": 0.9})
    cures = find_cures(aircraft.rows())
    assert cures.uneven == ("left",)
    aircraft.follow(cures)
    assert aircraft.off() == set()


def test_settings_count_from_where_they_stand():
    aircraft = Aircraft(AILERON, turned={"low rate": 1.25})
    (change,) = find_cures(aircraft.rows(), {"low rate": 60.0}).changes
    assert (change.now_percent, change.new_percent) == (60.0, 48.0)
    assert change.advise(change.rows[0]).text.startswith("set the low rate from 60 % to 48 %")


def test_past_what_a_transmitter_allows_the_hole_is_told():
    aircraft = Aircraft(ONE_MODE, turned={"left end point up": 0.8})
    (change,) = find_cures(aircraft.rows(), {"left end point up": 140.0}).changes
    assert change.advise(change.rows[0]).text.startswith("the end point would go past 150 %: move the rod")


def test_what_a_setting_may_not_do_others_do():
    """The mix of both sides is short by a tenth and stands at the most it can: that of either side is turned."""
    aircraft = Aircraft(CROW, turned={"crow mix in low": 0.9}, presets=("crow",))
    cures = find_cures(aircraft.rows(), {"crow mix in low": 120.0})
    assert [change.setting.name for change in cures.changes] == ["left crow mix in low", "right crow mix in low"]


def test_one_side_in_one_position_alone_is_no_setting():
    aircraft = Aircraft(AILERON)
    rows = aircraft.rows()
    rows[0] = Row(*(rows[0].side, "", "low", "up", 10.0, TOLERANCE_DEG, TOLERANCE_DEG, 7.0, NOISE_DEG))
    cures = find_cures(rows)
    assert cures.changes == ()
    assert [row.name for row in cures.remaining] == ["left up (low)"]


def test_what_was_not_read_is_waited_for():
    aircraft = Aircraft(AILERON, turned={"low rate": 1.2})
    high = {place for place in AILERON if place[1] == "high"}
    cures = find_cures(aircraft.rows(unread=high))
    assert len(cures.unread) == 4
    (low_up, *_) = aircraft.rows()
    assert [row.name for row in cures.unread_beside(low_up)] == ["left up (high)"]


def test_any_two_things_turned_are_cured_and_nothing_is_spoiled():
    """Seeded pairs of faults on every kind of surface: whatever was within stays within at every round of advice."""
    draw = random.Random(1414)
    for wanted_deg in (AILERON, ELEVON, FLAPERON, V_TAIL, ONE_MODE) * 12:
        aircraft = Aircraft(wanted_deg)
        function, mode, _ = draw.choice(list(wanted_deg))
        part = f" of the {function}" if function else ""
        several = {
            f"{draw.choice(['left', 'right'])} end point {draw.choice(['up', 'down'])}": draw.uniform(0.8, 1.2),
            f"{mode} rate{part}": draw.uniform(0.7, 1.2),
            f"{function} mix": draw.uniform(0.8, 1.2),
        }
        aircraft.turned = dict(draw.sample(sorted(several.items()), 2))
        for _round in range(3):
            was_off = aircraft.off()
            cures = find_cures(aircraft.rows(draw), aircraft.percent)
            aircraft.follow(cures)
            close = {row.name for row in cures.remaining}
            spoiled = aircraft.off() - was_off
            assert not spoiled, (aircraft.turned, cures.changes)
            assert not close, (aircraft.turned, cures.changes)
            if not aircraft.off():
                break
        assert aircraft.off() == set(), aircraft.turned


@pytest.mark.parametrize(
    ("kind", "sides", "uneven"),
    [
        ("end point", ("left", "left"), ("left",)),
        ("end point", ("left", "right"), ()),
        ("mix", ("left", "left"), ()),
        ("end point", ("", ""), ()),
    ],
)
def test_only_both_end_points_of_one_servo_speak_of_its_linkage(kind, sides, uneven):
    """15 % more up and 15 % less down: an arm off square does that to a servo, and to no mix of a transmitter."""
    up, down = (Setting(kind, 1.0, side, direction=way) for side, way in zip(sides, ("up", "down"), strict=True))
    assert Cures((Change(up, 1.15, ()), Change(down, 0.85, ()))).uneven == uneven
