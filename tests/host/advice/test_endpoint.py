"""Gain over two readings, what follows from it, and how well it is known."""

import math
import random
from statistics import stdev

import pytest

from hingeline.advice.endpoint import Gain, Reading, advise_setting
from hingeline.errors import NotMeasurable, UsageProblem

U_DEG = 0.05


def reading(setting_percent, deflection_deg, u_deg=U_DEG):
    return Reading(setting_percent, deflection_deg, u_deg)


THROW = reading(100, 25.0)
GAIN = Gain(reading(0, 0.0), reading(100, 40.0))


def advise(kind="end point", *, now=THROW, gain=None, **changed):
    """The advice for a reading; its gain, unless one is given, is from neutral."""
    given = {"target_deg": 20.0, "tolerance_deg": 0.5, "limit_percent": 125.0, **changed}
    return advise_setting(kind, now, gain or Gain(reading(0, 0.0), now), **given)


def test_gain():
    gain = Gain(reading(50, 10.0, 0.03), reading(100, 22.5, 0.04))
    assert gain.deg_per_percent == pytest.approx(0.25)


def test_one_setting_has_no_gain():
    with pytest.raises(UsageProblem, match="both readings are at 100 %"):
        Gain(reading(100, 10.0), reading(100, 12.0))


def test_a_gain_lost_in_noise_is_refused():
    # three times √2 · 0.05° is 0.21°
    with pytest.raises(NotMeasurable, match=r"moved the surface \+0\.20°, expected at least 0\.21°"):
        Gain(reading(0, 0.0), reading(1, 0.20))
    assert Gain(reading(0, 0.0), reading(1, 0.22)).deg_per_percent == pytest.approx(0.22)


def test_end_point_down_as_well_as_up():
    # setting = 100 · 20 / y: the sensitivity to y is 100 · 20 / 25² = 3.2 %/°, to the zero 0.8 %/°;
    # √(3.2² + 0.8²) · 0.05° = 0.165 %, told twice as large
    assert advise().text() == "set the end point from 100 % to 80 % (± 0.3 %): trailing edge down 5.0°"
    assert advise().standard_uncertainty_percent == pytest.approx(0.165, abs=0.0005)
    down = advise(now=reading(100, -18.0), target_deg=-20.0)
    assert down.new_percent == 111
    assert down.text().endswith("trailing edge down 2.0°")
    assert down.remaining_deg == pytest.approx(-0.02)


def test_inside_the_tolerance_nothing_is_changed():
    advice = advise(target_deg=24.6)
    assert advice.new_percent == advice.now.setting_percent == 100
    assert advice.mechanical_deg is None


def test_no_step_does_better():
    advice = advise(target_deg=25.1, tolerance_deg=0.05)
    assert advice.text() == "leave the end point at 100 %: no step of 1 % does better than 0.10° off"


def test_end_point_past_its_limit_is_a_matter_of_holes():
    advice = advise(target_deg=32.0)
    assert advice.new_percent == 125
    assert advice.mechanical_deg == pytest.approx(32.0)
    assert advice.text() == (
        "the end point would go past 125 %: move the rod one hole out on the servo arm or one hole in on the horn"
    )


@pytest.mark.parametrize(
    ("now_deg", "target_deg", "holes"),
    [
        # past 1.25 times 125 %, which one hole and the limit reach: 15.1 is 2.5 times 6
        (6.0, 15.1, "about 2.5 times as far out on the servo arm, or about 0.4 times as far out on the horn"),
        (
            -6.0,
            -15.1,
            "about 2.5 times as far out on the servo arm, or about 0.4 times as far out on the horn",
        ),
        (
            10.0,
            15.7,
            "about 1.6 times as far out on the servo arm, or about 0.64 times as far out on the horn",
        ),
        (10.0, 15.6, None),
    ],
)
def test_an_end_point_far_past_its_limit_is_told_which_hole(now_deg, target_deg, holes):
    text = advise(now=reading(100, now_deg), target_deg=target_deg).text()
    told = f"move the rod to a hole {holes}" if holes else "one hole out on the servo arm or one hole in on the horn"
    assert text.startswith("the end point would go past 125 %: ")
    assert text.endswith(told)


def test_sub_trim_past_its_limit_goes_to_the_clevis():
    # trade: about 10 points of sub-trim is fine, 35 to 60 is poor (common practice, no source)
    within = advise("sub-trim", now=reading(4, -1.0), target_deg=1.0, limit_percent=10, gain=GAIN)
    assert within.text().startswith("set the sub-trim from 4 % to 9 %")
    beyond = advise("sub-trim", now=reading(4, -1.0), target_deg=3.0, limit_percent=10, gain=GAIN)
    assert beyond.new_percent == 0
    assert beyond.mechanical_deg == pytest.approx(5.6)  # 4 % that hold 1.6° now, and 4° more
    assert beyond.moves_deg == pytest.approx(-1.6)
    assert "past 10 %: set it to 0" in beyond.text()
    assert beyond.text().endswith("trailing edge up 5.6°")


@pytest.mark.parametrize("now_is", ["earlier", "later", "neither"])
def test_uncertainty_against_simulation(now_is):
    draws = 20_000
    noise = random.Random(25)

    def noisy(setting_percent, deflection_deg):
        return reading(setting_percent, deflection_deg + noise.gauss(0, 0.2), 0.2)

    def wanted_percent(earlier, later, now):
        slope = (later.deflection_deg - earlier.deflection_deg) / (later.setting_percent - earlier.setting_percent)
        return now.setting_percent + (30.0 - now.deflection_deg) / slope

    settings = []
    for _ in range(draws):
        drawn = {"earlier": noisy(0, 0.0), "later": noisy(80, 20.0), "neither": noisy(40, 10.0)}
        settings.append(wanted_percent(drawn["earlier"], drawn["later"], drawn[now_is]))
    exact = {
        "earlier": reading(0, 0.0, 0.2),
        "later": reading(80, 20.0, 0.2),
        "neither": reading(40, 10.0, 0.2),
    }
    advice = advise(gain=Gain(exact["earlier"], exact["later"]), now=exact[now_is], target_deg=30.0)
    # the deviation of N draws is known to 1/√(2N), 0.5 %; the law's own error is of the order (0.2/20)²
    assert advice.standard_uncertainty_percent == pytest.approx(stdev(settings), rel=4 / math.sqrt(2 * draws))
