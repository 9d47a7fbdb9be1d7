"""Which cure comes next for a neutral: common practice, no source."""

import pytest

from hingeline.advice import Advice
from hingeline.advice.endpoint import Gain, Reading
from hingeline.advice.neutral import FAR_DEG, Clevis, Trim

CLEVIS = Clevis(0.4, 10)  # half a turn is 1.146°
GAIN = Gain(Reading(0, 0.0, 0.02), Reading(100, 35.0, 0.02))


def advise(now_deg, setting_percent=0.0, *, clevis=CLEVIS, gain=GAIN, limit_percent=10.0):
    _, advice = Trim(clevis, limit_percent, setting_percent, gain=gain).advise(now_deg, 0.02, 0.0, 0.3)
    return advice


def test_inside_the_tolerance_it_stops():
    assert advise(0.3) == Advice()


def test_the_clevis_comes_first():
    advice = advise(-3.0)
    assert advice.text.startswith("turn the clevis 3 half turns: trailing edge up 3.4°")
    assert advice.moves_deg == pytest.approx(3 * CLEVIS.half_turn_deg)


@pytest.mark.parametrize("clevis", [CLEVIS, None])
@pytest.mark.parametrize("gain", [GAIN, None])
def test_what_is_far_off_is_no_matter_of_turns(clevis, gain):
    advice = advise(28.8, clevis=clevis, gain=gain)
    assert advice.text.startswith("trailing edge down 28.8° to go is too far for clevis or sub-trim")
    assert "stick is centred" in advice.text
    assert "too far" not in advise(-FAR_DEG, clevis=clevis, gain=gain).text


def test_the_last_bit_is_sub_trim():
    advice = advise(-0.7)
    assert advice.setting_percent == 2.0
    # twice 0.02° over 0.35° per 1 %
    assert advice.text == "set the sub-trim from 0 % to 2 % (± 0.1 %): trailing edge up 0.70°"


def test_a_turn_that_leaves_less_than_half_is_worth_it():
    assert "0.35° remains" in advise(-0.8).text


def test_past_the_sub_trims_limit_it_is_the_clevis_again():
    advice = advise(-0.7, setting_percent=9.0)  # 11 % would do
    assert advice.text.startswith("turn the clevis 1 half turn:")
    assert advice.setting_percent is None


def test_past_the_sub_trims_limit_without_a_clevis_it_is_told():
    advice = advise(-4.2, clevis=None)
    assert advice.setting_percent == 0.0
    assert advice.moves_deg == pytest.approx(4.2)
    assert advice.text.startswith("the sub-trim would go past 10 %: set it to 0")


@pytest.mark.parametrize(
    ("setting_percent", "limit_percent", "probe_percent"),
    [(0.0, 10.0, -5.0), (8.0, 10.0, 3.0), (-8.0, 10.0, -3.0), (2.0, 3.0, -1.0)],
)
def test_a_gain_that_is_not_known_is_probed_within_the_limit(setting_percent, limit_percent, probe_percent):
    advice = advise(-0.7, setting_percent, gain=None, limit_percent=limit_percent)
    assert (advice.setting_percent, advice.moves_deg) == (probe_percent, 0.0)
    assert advice.text.startswith(f"set the sub-trim to {probe_percent:g} % and measure again")


def test_a_probe_without_a_linkage_says_what_the_linkage_would_give():
    assert "with a linkage in the sheet" not in advise(-0.4, gain=None).text
    assert advise(-0.4, clevis=None, gain=None).text.endswith("the advice is half turns of the clevis first")


def test_where_no_sub_trim_is_allowed_only_the_clevis_is_left():
    within = advise(-0.5, gain=None, limit_percent=0.0)
    assert within.text.startswith("the clevis can't do better")
    assert advise(-0.5, clevis=None, gain=None, limit_percent=0.0) == Advice("trailing edge up 0.50°", 0.5)


def test_past_the_sub_trims_limit_with_less_than_half_a_half_turn_to_go_it_is_told():
    """0.5° of 1.15°: the clevis can't do better, so it is the spline or the sub-trim from 0 again."""
    advice = advise(-0.5, setting_percent=10.0)  # 11.4 % would do
    assert advice.text.startswith("the sub-trim would go past 10 %: set it to 0")
    assert advice.setting_percent == 0.0


@pytest.mark.parametrize(("gap_deg", "is_turned"), [(0.75, False), (0.78, True)])
def test_a_turn_is_worth_it_where_at_most_half_remains(gap_deg, is_turned):
    """Of 1.146° a half turn: 0.396° of 0.75° remain, 0.366° of 0.78°."""
    assert ("half turn" in advise(-gap_deg).text) is is_turned


def test_a_gain_stays_known_where_the_clevis_was_turned_meanwhile():
    trim, first = Trim(CLEVIS, 10.0, gain=GAIN).advise(-3.0, 0.02, 0.0, 0.3)
    assert "clevis" in first.text
    _, second = trim.advise(-0.7, 0.02, 0.0, 0.3)
    assert second.text.startswith("set the sub-trim from 0 % to 2 %")


def test_a_change_that_moved_nothing_is_probed_again():
    """5 % moved by 0.01°, which is noise: what was known of the gain before is not believed any more."""
    stuck = Trim(None, 10.0, 5.0, before=Reading(0.0, 0.0, 0.02), gain=GAIN)
    trim, advice = stuck.advise(0.01, 0.02, 3.0, 0.3)
    assert advice.text.startswith("set the sub-trim to 0 % and measure again")
    assert trim.gain is None
