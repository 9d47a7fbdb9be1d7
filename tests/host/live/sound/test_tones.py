"""What is heard, rendered into a buffer and measured: pitch, breaks, side, and the signals."""

import numpy as np
import pytest
from tests.host.live.states import BOTH, LOST, MATCH, gap, state

from hingeline.live.sound.output import Bell
from hingeline.live.sound.tones import ALARM, CAPTURED, MATCH_HZ, RATE_HZ, TAKEN_BACK, Voice

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
