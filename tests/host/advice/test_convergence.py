"""Following the advice brings every neutral and throw within its tolerance: 240 invented linkages, built of circles.

The aircraft is the circle model, never the solver that advises. What the sheet says of the linkage was
measured with a ruler: it is a little wrong, and knows nothing of leaning arms and displaced holes. Readings
are noisy, a clevis turns by half turns, settings are whole per cents. A round is one change, advised and
made; the probe for a gain is a reading.
"""

import random
from dataclasses import dataclass

import pytest

from hingeline.advice.endpoint import Gain, Reading, advise_setting
from hingeline.advice.linkage import Linkage
from hingeline.advice.neutral import Clevis, Trim
from hingeline.advice.verdict import judge_match, judge_throw
from hingeline.rig.surface import THREAD_PITCH_MM

LINKAGES = 240
ROUNDS = 3
NOISE_DEG = 0.03
SERVO_DEG_PER_PERCENT = 0.4  # 100 % is 40° of servo; common practice, no source
SUB_TRIM_LIMIT_PERCENT = 10.0  # about 10 points is fine (trade; common practice, no source)
END_POINT_LIMIT_PERCENT = 125.0
# neutral and end point, deg: the glider, 3D and sport profiles (trade; common practice, no source)
TOLERANCES_DEG = ((0.3, 0.5), (0.5, 1.0), (1.0, 2.0))


@dataclass
class Bench:
    """One side of an aircraft, its servo and its transmitter."""

    linkage: object
    half_turn_mm: float
    noise: random.Random
    sub_trim_percent: float = 0.0

    def turn_clevis(self, half_turns):
        assert isinstance(half_turns, int)
        self.linkage.rod_mm += half_turns * self.half_turn_mm

    def true_deg(self, stick_percent=0.0):
        return self.linkage.deflection_deg(SERVO_DEG_PER_PERCENT * (self.sub_trim_percent + stick_percent))

    def read(self, setting_percent, stick_percent=0.0, zero_deg=0.0):
        measured_deg = self.true_deg(stick_percent) - zero_deg + self.noise.gauss(0, NOISE_DEG)
        return Reading(setting_percent, measured_deg, NOISE_DEG)


@dataclass
class Case:
    bench: Bench
    clevis: Clevis
    other_side_deg: float
    tolerance_deg: float
    end_tolerance_deg: float


def invent(number, circle_linkage):
    draw = random.Random(number)
    arm_mm = draw.uniform(8, 14)
    horn_mm = arm_mm * draw.uniform(1.1, 1.8)
    rod_mm = draw.uniform(60, 250)
    side = draw.choice((1, -1))
    thread = draw.choice(sorted(THREAD_PITCH_MM))
    built = circle_linkage.built(
        arm_mm,
        horn_mm,
        rod_mm,
        side=side,
        lean_aft_deg=draw.uniform(-7, 7),
        hole_aft_mm=draw.uniform(-2, 2),
        shaft_lift_mm=draw.uniform(-3, 3),
    )
    other_side_deg = draw.uniform(-2, 2)
    built.rod_mm = built.rod_for_mm(other_side_deg + draw.uniform(-5, 5))
    ruler_mm = [round(2 * length_mm) / 2 for length_mm in (arm_mm, horn_mm, rod_mm)]
    drawn = Linkage.square(*ruler_mm, "top" if side == 1 else "bottom") if number % 2 else None
    tolerance_deg, end_tolerance_deg = draw.choice(TOLERANCES_DEG)
    bench = Bench(built, THREAD_PITCH_MM[thread] / 2, draw)
    return Case(
        bench,
        Clevis(THREAD_PITCH_MM[thread], ruler_mm[1], drawn),
        other_side_deg,
        tolerance_deg,
        end_tolerance_deg,
    )


def follow_clevis(bench, advice, gap_deg, target_deg):
    bench.turn_clevis(advice.half_turns)
    if advice.geometry_known:
        return
    if abs(target_deg - bench.read(0).deflection_deg) > abs(gap_deg):  # "if it gets worse, turn the other way"
        bench.turn_clevis(-2 * advice.half_turns)


def bring_to_neutral(case, gain):
    """Return how many rounds of advice it took."""
    bench, target_deg = case.bench, case.other_side_deg
    rounds = 0
    while rounds <= ROUNDS:
        now = bench.read(bench.sub_trim_percent)
        trim = Trim(case.clevis, SUB_TRIM_LIMIT_PERCENT, bench.sub_trim_percent, gain=gain)
        _, advice = trim.advise(now.deflection_deg, now.standard_uncertainty_deg, target_deg, case.tolerance_deg)
        if not advice.text:
            return rounds
        if advice.setting_percent is None:
            turns = case.clevis.advise(now.deflection_deg, target_deg)
            assert advice.text == turns.text()
            assert turns.half_turns != 0
            follow_clevis(bench, turns, target_deg - now.deflection_deg, target_deg)
            rounds += 1
        elif "measure again" in advice.text:
            bench.sub_trim_percent = advice.setting_percent
            gain = Gain(now, bench.read(bench.sub_trim_percent))
        else:
            assert advice.setting_percent != bench.sub_trim_percent
            bench.sub_trim_percent = advice.setting_percent
            rounds += 1
    pytest.fail(f"not within the tolerance after {ROUNDS} rounds, last advice: {advice.text}")


def bring_to_throw(case, sign, target_deg):
    """Return how many rounds of advice the end point on that side of the stick took."""
    bench, percent, neutral_deg = case.bench, 100.0, case.bench.true_deg()
    for rounds in range(ROUNDS + 1):
        now = bench.read(percent, sign * percent, neutral_deg)
        if judge_throw(now.deflection_deg, target_deg, case.end_tolerance_deg).word == "WITHIN":
            return rounds
        advice = advise_setting(
            "end point",
            now,
            Gain(Reading(0.0, 0.0, NOISE_DEG), now),
            target_deg=target_deg,
            tolerance_deg=case.end_tolerance_deg,
            limit_percent=END_POINT_LIMIT_PERCENT,
        )
        assert advice.mechanical_deg is None
        assert advice.new_percent != percent
        percent = advice.new_percent
    pytest.fail(f"not within the tolerance after {ROUNDS} rounds, last advice: {advice.text()}")


@pytest.mark.parametrize("known_gain", [True, False], ids=["gain known", "gain to be probed"])
def test_every_neutral_comes_to_hold(circle_linkage, known_gain):
    rounds = []
    for number in range(LINKAGES):
        case = invent(number, circle_linkage)
        gain = Gain(case.bench.read(0), case.bench.read(100, 100)) if known_gain else None
        rounds.append(bring_to_neutral(case, gain))
        left_deg = case.bench.true_deg()
        assert judge_match(left_deg, case.other_side_deg, case.tolerance_deg + 4 * NOISE_DEG).inside
        assert abs(case.bench.sub_trim_percent) <= SUB_TRIM_LIMIT_PERCENT
    # both cures were needed somewhere: this isn't a test of neutrals that were right to begin with
    assert {1, 2} <= set(rounds)


def test_every_throw_comes_to_hold(circle_linkage):
    rounds = []
    for number in range(LINKAGES):
        case = invent(number, circle_linkage)
        bring_to_neutral(case, Gain(case.bench.read(0), case.bench.read(100, 100)))
        draw = random.Random(number)
        for sign in (1, -1):
            neutral_deg = case.bench.true_deg()
            full_deg = case.bench.true_deg(sign * 100) - neutral_deg
            target_deg = draw.uniform(0.55, 1.1) * full_deg  # up and down differ: differential is normal
            rounds.append(bring_to_throw(case, sign, target_deg))
    assert {0, 1, 2} <= set(rounds)
