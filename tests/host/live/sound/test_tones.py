"""What is heard, rendered into a buffer and measured: pitch, breaks, side, and the signals."""

import os
import sys

import numpy as np
import pytest
from tests.host.live.states import BOTH, LOST, MATCH, gap, state

from hingeline.live.sound.output import Bell, _hushed
from hingeline.live.sound.tones import ALARM, CAPTURED, MATCH_HZ, RATE_HZ, TAKEN_BACK, Voice
from hingeline.live.sound.tones import pitch_hz as tones_pitch_hz

WINDOW = RATE_HZ // 20


def heard(shown, seconds=1.0, voice=None):
    voice = voice or Voice()
    voice.show(shown)
    return voice.render(round(seconds * RATE_HZ))


def pitch_hz(wave) -> float:
    """Return the strongest pitch of a wave (N,), between the lines of its spectrum by a parabola."""
    padded = np.abs(np.fft.rfft(wave * np.hanning(wave.size), 8 * RATE_HZ))
    top = int(np.argmax(padded))
    return top * RATE_HZ / (8 * RATE_HZ)


def loud(wave) -> np.ndarray:
    """Return in which windows of 50 ms a wave (N,) sounds."""
    windows = wave[: wave.size // WINDOW * WINDOW].reshape(-1, WINDOW)
    return np.sqrt((windows**2).mean(axis=1)) > 0.02


def pulses(wave) -> int:
    """Return how often a wave begins to sound, in windows of 10 ms."""
    windows = wave[: wave.size // 441 * 441].reshape(-1, 441)
    on = np.sqrt((windows**2).mean(axis=1)) > 0.02
    return int(np.count_nonzero(on[1:] & ~on[:-1])) + int(on[0])


def test_a_match_is_one_steady_tone():
    wave = heard(MATCH)
    assert loud(wave[:, 0]).all()
    assert pitch_hz(wave[:, 0]) == pytest.approx(MATCH_HZ, abs=0.5)
    assert MATCH_HZ == 440  # ISO 16


@pytest.mark.parametrize(("word", "above"), [("MORE", True), ("LESS", False)])
def test_the_sign_is_above_or_below_and_the_size_how_far(word, above):
    found = [pitch_hz(heard(state(gap(word=word, tolerances=tolerances)))[:, 0]) for tolerances in (1.01, 2, 5, 20, 99)]
    assert found == sorted(found, reverse=not above)
    assert all((hz > MATCH_HZ) == above for hz in found)
    assert abs(12 * np.log2(found[0] / MATCH_HZ)) > 2  # no semitone that an ear could take for a match
    assert found[-1] == pytest.approx(MATCH_HZ * (2 if above else 0.5), rel=0.01)  # an octave, and no further


def test_what_is_off_is_broken():
    wave = heard(state(gap()))[:, 0]
    assert pulses(wave) == 4
    assert not loud(wave).all()


def test_the_worse_side_sounds_and_from_its_side():
    for what, ear in (("left", 0), ("right", 1)):
        worse = gap(what, "MORE", tolerances=9.0)
        better = gap("right" if what == "left" else "left", "LESS", tolerances=2.0)
        wave = heard(state(better, worse))
        assert pitch_hz(wave[:, ear]) > MATCH_HZ
        assert np.abs(wave[:, ear]).max() > 2 * np.abs(wave[:, 1 - ear]).max()


def test_nothing_known_is_silent():
    assert not heard(state()).any()


def test_signals_are_told_apart_and_begin_at_once():
    for before, after, notes in (
        (MATCH, state(*MATCH.gaps, taken=1), CAPTURED),
        (MATCH, state(*MATCH.gaps, taken_back=1), TAKEN_BACK),
        (MATCH, LOST, ALARM),
    ):
        voice = Voice()
        heard(before, 0.1, voice)
        wave = heard(after, sum(note.lasts_s for note in notes), voice)[:, 0]
        at = 0
        for note in notes:
            part = wave[at : at + round(note.lasts_s * RATE_HZ)]
            at += part.size
            if note.hz:
                assert pitch_hz(part[400:]) == pytest.approx(note.hz, rel=0.02)


def test_an_alarm_goes_on_while_the_sensor_is_lost():
    wave = heard(LOST, 4)[:, 0]
    silent, longest = 0, 0
    for sounds in loud(wave):
        silent = 0 if sounds else silent + 1
        longest = max(longest, silent)
    assert longest <= 3  # windows of 50 ms


def test_no_clicks():
    """A step between samples is no larger than the highest tone makes it."""
    voice = Voice()
    wave = np.concatenate(
        [
            heard(shown, 0.0371, voice)
            for shown in (MATCH, BOTH, LOST, MATCH, state(*MATCH.gaps, taken=1), BOTH, state()) * 9
        ]
    )
    steepest = 0.3 * 2 * np.pi * 1760 / RATE_HZ
    assert np.abs(np.diff(wave[:, 0])).max() < 1.5 * steepest
    assert np.abs(wave).max() <= 0.31


def test_the_bell_rings_for_match_capture_and_alarm():
    rung, clock = [], [0.0]
    bell = Bell(lambda: rung.append(clock[0]), lambda: clock[0])

    def rings(shown, for_s=2.0):
        before = len(rung)
        end_s = clock[0] + for_s
        while clock[0] < end_s - 1e-9:
            clock[0] += 0.05
            bell.show(shown)
        return len(rung) - before

    assert rings(BOTH.__class__("", (), ())) == 0
    assert rings(state(gap())) == 0
    assert rings(MATCH) == 2
    assert rings(LOST) >= 7
    assert rings(state(gap(), taken=1)) == 2


def semitones(hz):
    """Above the note A4 (ISO 16)."""
    return 12 * np.log2(hz / 440)


def test_notes_of_the_signals_are_those_of_the_scale():
    """C6, E6 and G6 rise by a third and a third; A6 and, three octaves below, A3 are as unlike as notes can be."""
    assert [semitones(note.hz) for note in CAPTURED] == pytest.approx([15, 19, 22], abs=0.01)
    assert [semitones(note.hz) for note in TAKEN_BACK] == pytest.approx([19, 15], abs=0.01)
    assert [semitones(note.hz) for note in ALARM if note.hz] == pytest.approx([24, 24, -12], abs=0.01)
    for signal in (CAPTURED, TAKEN_BACK, ALARM):
        assert all(0.05 <= note.lasts_s <= 0.25 for note in signal), "short, and long enough to have a pitch"


@pytest.mark.parametrize(("tolerances", "off"), [(0.5, 3), (1.0, 3), (20**0.5, 7.5), (20.0, 12), (1000.0, 12)])
@pytest.mark.parametrize(("word", "sign"), [("MORE", 1), ("LOW", 1), ("LESS", -1), ("HIGH", -1)])
def test_a_gap_is_a_minor_third_to_an_octave_off(word, sign, tolerances, off):
    """Three semitones at the tolerance, twelve at twenty tolerances: ratios of gaps are intervals, as ears have it."""
    assert semitones(tones_pitch_hz(gap(word=word, tolerances=tolerances))) == pytest.approx(sign * off)


def test_a_broken_tone_sounds_more_than_it_is_silent_and_a_match_as_loud_in_both_ears():
    wave = heard(state(gap()), 4.0)
    assert 0.55 < np.mean(np.abs(wave[:, 0]) > 1e-6) < 0.65
    assert pulses(wave[:, 0]) == 16, "four a second"
    assert np.abs(wave[:, 0]).max() == pytest.approx(4 * np.abs(wave[:, 1]).max(), rel=0.01)
    match = heard(MATCH)
    assert (match[:, 0] == match[:, 1]).all()
    assert np.abs(match).max() == pytest.approx(0.3, abs=0.003), "so that no headphones hurt"


def test_a_signal_sounds_in_both_ears_and_then_the_tone_goes_on():
    voice = Voice()
    heard(MATCH, 0.1, voice)
    wave = heard(state(*MATCH.gaps, taken=1), 1.0, voice)
    assert (wave[:, 0] == wave[:, 1]).all()
    assert pitch_hz(wave[RATE_HZ // 2 :, 0]) == pytest.approx(MATCH_HZ, abs=0.5)


def test_of_several_gaps_that_all_hold_it_is_a_match_and_of_one_that_does_not_it_is_none():
    rung = []
    Bell(lambda: rung.append(1), lambda: 0.0).show(state(gap(word="WITHIN", tolerances=0.2), gap("right")))
    assert rung == []
    assert pulses(heard(state(gap(word="WITHIN", tolerances=0.2), gap("right")))[:, 1]) == 4


@pytest.mark.parametrize("frames", [1, 2, 441, 4410])
def test_as_much_is_rendered_as_was_asked_for(frames):
    """Whatever ends within it: a pause, a note, a pulse."""
    for shown in (MATCH, LOST, state(gap()), state()):
        voice = Voice()
        voice.show(shown)
        assert [voice.render(frames).shape for _ in range(30)] == 30 * [(frames, 2)]


def test_what_a_sound_library_says_on_linux_is_not_on_the_screen(capfd):
    with _hushed():
        os.write(2, b"ALSA lib: no such device\n")
    os.write(2, b"after it\n")
    assert capfd.readouterr().err == (
        "after it\n" if sys.platform == "linux" else "ALSA lib: no such device\nafter it\n"
    )
