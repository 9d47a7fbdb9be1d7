"""Half turns against the published table, and against circles where the geometry is given."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hingeline.advice.linkage import Linkage
from hingeline.advice.neutral import Clevis
from hingeline.rig.surface import THREAD_PITCH_MM

# thread, pitch in mm, half a turn at 10 mm of horn in degrees. Source: ISO 261; of the last two
# 25.4 mm over the threads per inch.
TABLE = [
    ("M2", 0.4, 1.146),
    ("M2.5", 0.45, 1.289),
    ("M3", 0.5, 1.432),
    ("2-56", 0.45357, 1.299),
    ("4-40", 0.6350, 1.819),
]


@pytest.mark.parametrize(("thread", "pitch_mm", "half_turn_deg"), TABLE)
def test_half_turn_at_10_mm(thread, pitch_mm, half_turn_deg):
    assert THREAD_PITCH_MM[thread] == pytest.approx(pitch_mm, abs=0.000005)
    assert Clevis(THREAD_PITCH_MM[thread], 10).half_turn_deg == pytest.approx(half_turn_deg, abs=0.0005)


def test_every_thread_is_in_the_table():
    assert {thread for thread, *_ in TABLE} == set(THREAD_PITCH_MM)


@pytest.mark.parametrize(("side", "verb"), [("top", "shorten"), ("bottom", "lengthen")])
def test_sense_follows_the_side_of_the_horn(side, verb):
    advice = Clevis(0.4, 10, Linkage.square(8, 10, 90, side)).advise(-3.4, 0.0)
    assert advice.text().startswith(f"{verb} the rod by 3 half turns of the clevis: trailing edge up 3.4°")


def test_without_geometry_both_ways_are_told():
    advice = Clevis(0.4, 10).advise(1.2, 0.0)
    assert advice.text() == (
        "turn the clevis 1 half turn: trailing edge down 1.1°; 0.05° remains. "
        "If it gets worse, turn the other way: 2 half turns back"
    )


def test_less_than_half_a_half_turn_is_beyond_the_clevis():
    for clevis in (Clevis(0.4, 10), Clevis(0.4, 10, Linkage.square(8, 10, 90))):
        advice = clevis.advise(0.0, 0.57)
        assert advice.half_turns == 0
        assert advice.remaining_deg == pytest.approx(0.57)
        assert advice.text() == "the clevis can't do better: 0.57° to go, half a turn moves the trailing edge 1.1°"
        assert clevis.advise(0.0, 0.58).half_turns != 0


@given(
    st.sampled_from(sorted(THREAD_PITCH_MM)),
    st.tuples(st.floats(6, 14), st.floats(8, 25), st.floats(50, 200)),
    st.sampled_from([1, -1]),
    st.tuples(st.floats(-8, 8), st.floats(-8, 8)),
)
def test_prediction_is_what_the_rod_does(circle_linkage, thread, arm_horn_rod_mm, side, now_and_target_deg):
    drawn = Linkage.square(*arm_horn_rod_mm, "top" if side == 1 else "bottom")
    clevis = Clevis(THREAD_PITCH_MM[thread], drawn.horn_mm, drawn)
    now_deg, target_deg = now_and_target_deg
    advice = clevis.advise(now_deg, target_deg)
    built = circle_linkage.built(*arm_horn_rod_mm, side=side)
    built.rod_mm = built.rod_for_mm(now_deg)

    def misses_deg(half_turns):
        lengthened = circle_linkage(**{**vars(built), "rod_mm": built.rod_mm + half_turns * clevis.half_turn_mm})
        return target_deg - lengthened.deflection_deg(0.0)

    assert advice.remaining_deg == pytest.approx(misses_deg(advice.half_turns), abs=1e-6)
    for neighbour in (advice.half_turns - 1, advice.half_turns + 1):
        assert abs(advice.remaining_deg) <= abs(misses_deg(neighbour)) + 1e-9
