"""Stillness against motions of known size: hands, drift, bumps; and quiet chips with coarse steps."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.signal import lfilter

from hingeline_calibration.still import LONGEST_S, Reading, StillWatch, summarise

LINES_HZ = 50.0
REST_G = np.array([0.05, 0.02, 0.98])
NOISY_G = 400e-6 * np.sqrt(LINES_HZ / 2)
"""A line of an MPU-6050, 400 µg/√Hz."""
QUIET_G = 22.5e-6 * np.sqrt(LINES_HZ / 2)
"""A line of an ADXL355."""


def at_rest(time_s: np.ndarray) -> np.ndarray:
    return np.zeros((time_s.size, 3))


def watched(
    motion_g: Callable[[np.ndarray], np.ndarray],
    seconds: float,
    noise_g: float = NOISY_G,
    *,
    counts_per_g: float = 16384,
    step: float = 1.0,
    before_s: float = 3.0,
    correlation: float = 0.0,
) -> tuple[np.ndarray, StillWatch]:
    """Whether each line of a motion is called still, after a rest in which the noise was learned."""
    rng = np.random.default_rng(1)
    time_s = np.arange(round((before_s + seconds) * LINES_HZ)) / LINES_HZ
    moved = np.where(time_s[:, None] < before_s, 0.0, motion_g(time_s - before_s))
    noise = lfilter([np.sqrt(1 - correlation**2)], [1, -correlation], rng.standard_normal((time_s.size, 3)), axis=0)
    counts = step * np.round((REST_G + moved + noise_g * noise) * counts_per_g / step)
    watch = StillWatch(counts_per_g, step_counts=step)
    still = []
    for when, line in zip(time_s, counts, strict=True):
        watch.push(when, line, 25.0)
        still.append(not watch.moving)
    return np.array(still)[time_s >= before_s], watch


def hand(time_s: np.ndarray) -> np.ndarray:
    """Held as still as one can: physiological tremor of 8 to 12 Hz and a slow sway of a degree; from memory."""
    tremor = 0.015 * np.sin(2 * np.pi * np.outer(time_s, [8.3, 9.7, 11.1]))
    return tremor + 0.02 * np.sin(2 * np.pi * np.outer(time_s, [0.4, 0.5, 0.3]))


@pytest.mark.long
@pytest.mark.parametrize("noise_g", [NOISY_G, QUIET_G], ids=["noisy", "quiet"])
@pytest.mark.parametrize("correlation", [0.0, 0.5], ids=["white", "filtered"])
def test_a_sensor_at_rest_stays_still_for_ten_minutes(noise_g: float, correlation: float) -> None:
    still, _ = watched(at_rest, 600, noise_g, correlation=correlation)
    assert still.all()


@pytest.mark.parametrize("noise_g", [NOISY_G, QUIET_G], ids=["noisy", "quiet"])
def test_a_hand_is_not_a_rest(noise_g: float) -> None:
    still, _ = watched(hand, 20, noise_g)
    assert not still[round(0.5 * LINES_HZ) :].any()


def test_a_hand_from_the_start_is_not_taken_for_the_sensor_noise() -> None:
    still, _ = watched(hand, 20, before_s=0.0)
    assert not still.any()


@pytest.mark.parametrize(
    ("deg_per_s", "noise_g", "within_s"),
    [(1.0, NOISY_G, 1.5), (0.1, NOISY_G, 8.0), (0.1, QUIET_G, 1.0), (0.01, QUIET_G, 4.0)],
)
def test_slow_drift_is_found_as_fast_as_the_noise_lets(deg_per_s: float, noise_g: float, within_s: float) -> None:
    """A slope's standard deviation over T: noise √(12/N)/T; five of them after less than half the time allowed."""
    still, _ = watched(lambda t: np.outer(np.radians(deg_per_s) * t, [0, 1, 0]), 60, noise_g)
    assert not still[: round(within_s * LINES_HZ)].all()
    assert np.mean(still[round(within_s * LINES_HZ) :]) < 0.2


@pytest.mark.parametrize("deg_per_s", [0.03, 0.1])
def test_a_short_creep_keeps_nobody_waiting(deg_per_s: float) -> None:
    """A surface that settles for three seconds is read within as much again: nobody waits as after a long drift."""
    still, _ = watched(lambda t: np.outer(np.radians(deg_per_s) * np.minimum(t, 3.0), [0, 1, 0]), 10, QUIET_G)
    assert not still[: round(3.0 * LINES_HZ)].all()
    assert still[round(6.0 * LINES_HZ) :].all()


def test_a_bump_ends_a_rest_and_a_new_one_begins() -> None:
    still, watch = watched(lambda t: 0.05 * np.exp(-(((t - 1) / 0.05) ** 2))[:, None], 4, QUIET_G)
    assert not still[round(1.2 * LINES_HZ)]
    assert still[-1]
    reading = watch.reading()
    assert reading is not None
    assert 4.0 < reading.start_s < 5.0


def test_a_step_is_seen_and_held_off_until_it_has_lasted() -> None:
    still, watch = watched(lambda t: np.outer(t > 1, [0, 0.1, 0]), 3)
    after = still[round(1 * LINES_HZ) :]
    first_moving = int(np.argmin(after))
    assert first_moving <= round(0.25 * LINES_HZ)
    back = first_moving + int(np.argmax(after[first_moving:]))
    assert 0.7 <= back / LINES_HZ <= 1.3
    reading = watch.reading()
    assert reading is not None
    assert reading.mean_counts / 16384 == pytest.approx(REST_G + np.array([0, 0.1, 0]), abs=5 * NOISY_G / np.sqrt(50))


@pytest.mark.parametrize(
    ("counts_per_g", "step", "noise_g"),
    [(256, 1, 1e-4), (256, 1, 1.5e-3), (16000, 16, 1e-5), (16000, 16, 1.1e-3)],
    ids=["ADXL345 frozen by its step", "ADXL345", "LIS3DH frozen by its step", "LIS3DH"],
)
def test_coarse_steps_neither_shake_nor_blind(counts_per_g: float, step: float, noise_g: float) -> None:
    still, watch = watched(at_rest, 60, noise_g, counts_per_g=counts_per_g, step=step)
    assert still.all()
    reading = watch.reading()
    assert reading is not None
    error = reading.mean_counts - REST_G * counts_per_g
    assert np.all(np.abs(error) < 4 * np.sqrt(np.diag(reading.covariance_counts2)))
    still, _ = watched(hand, 10, noise_g, counts_per_g=counts_per_g, step=step)
    assert not still[round(0.5 * LINES_HZ) :].any()


def test_window_is_the_mean_with_its_uncertainty() -> None:
    _, watch = watched(at_rest, 30)
    reading = watch.reading()
    assert reading is not None
    assert reading.start_s == 0.0
    assert reading.duration_s == pytest.approx(LONGEST_S, abs=0.15)
    expected = NOISY_G * 16384 / np.sqrt(LONGEST_S * LINES_HZ)
    assert np.sqrt(np.diag(reading.covariance_counts2)) == pytest.approx([expected] * 3, rel=0.2)  # four deviations
    assert reading.temperature_c == 25.0


@pytest.mark.parametrize("noise_g", [NOISY_G, QUIET_G], ids=["noisy", "quiet"])
@pytest.mark.parametrize("silence_s", [0.6, 30.0])
@pytest.mark.parametrize(("turned_deg", "same"), [(0.0, True), (0.6, False)])
def test_after_a_silence_it_must_rest_anew_and_has_moved_if_it_shows_something_else(
    noise_g: float, silence_s: float, turned_deg: float, same: bool
) -> None:
    """0.6° is 10 mg: of the means of seven blocks of the noisy one, 0.9 mg each, more than twenty deviations."""
    rng = np.random.default_rng(1)
    watch = StillWatch(16384)
    turned_g = REST_G + np.array([0, np.radians(turned_deg), 0])

    def rest(begin_s: float, up_g: np.ndarray) -> list[bool]:
        still = []
        for line in range(100):
            watch.push(begin_s + line / LINES_HZ, 16384 * (up_g + noise_g * rng.standard_normal(3)), None)
            still.append(not watch.moving)
        return still

    rest(0.0, REST_G)
    before = watch.reading()
    still = rest(2.0 + silence_s, turned_g)
    after = watch.reading()
    assert before is not None
    assert after is not None
    assert not any(still[: round(0.7 * LINES_HZ)])
    assert (after.start_s == before.start_s) == same
    assert after.mean_counts / 16384 == pytest.approx(turned_g, abs=5 * noise_g / np.sqrt(90))


def test_what_moved_before_a_silence_has_moved_though_it_came_back() -> None:
    rng = np.random.default_rng(1)
    watch = StillWatch(16384)
    starts = []
    for begin_s, up_g in ((0.0, REST_G), (2.0, REST_G + np.array([0, 0.1, 0])), (5.0, REST_G)):
        for line in range(100 if begin_s != 2.0 else 25):
            watch.push(begin_s + line / LINES_HZ, 16384 * (up_g + NOISY_G * rng.standard_normal(3)), None)
        starts.append(watch.still_since_s)
    assert starts[0] == 0.0
    assert starts[1] is None
    assert starts[2] == 5.0


@pytest.mark.parametrize("interval_s", [0.1, 0.2, 0.4])
def test_rare_lines_tell_of_rest_and_of_motion(interval_s: float) -> None:
    """Blocks of them are longer than the stretch that is asked for."""
    rng = np.random.default_rng(1)
    watch = StillWatch(16384, hold_s=0.2)
    for line in range(40):
        watch.push(line * interval_s, 16384 * (REST_G + NOISY_G * rng.standard_normal(3)), 25.0)
    assert not watch.moving
    for line in range(40, 44):
        watch.push(line * interval_s, 16384 * (REST_G + np.array([0.1, 0, 0])), 25.0)
    assert watch.moving


def noise_without_a_scatter_of_means(axis: int, rng: np.random.Generator) -> np.ndarray:
    """Two seconds of noise at 30 lines a second, whose blocks of four lines have all the same mean on one axis."""
    blocks = rng.standard_normal((15, 4, 3))
    blocks[..., axis] -= blocks[..., axis].mean(axis=1, keepdims=True)
    return blocks.reshape(-1, 3)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_means_that_coincide_by_chance_do_not_blind_it_to_rest(axis: int) -> None:
    rng = np.random.default_rng(1)
    watch = StillWatch(16384, hold_s=0.2)
    lines = np.concatenate([noise_without_a_scatter_of_means(axis, rng), rng.standard_normal((1800, 3))])
    still = []
    for index, noise in enumerate(lines):
        watch.push(index / 30, np.round(16384 * (REST_G + NOISY_G * noise)), None)
        still.append(not watch.moving)
    assert all(still[30:])


@pytest.mark.parametrize("seed", range(40))
def test_a_rest_is_known_from_its_beginning_whatever_its_noise(seed: int) -> None:
    """The shortest hold and rare lines: what is learned first comes from three blocks of four lines."""
    rng = np.random.default_rng(seed)
    watch = StillWatch(16384, hold_s=0.2)
    still = []
    for index in range(300):
        watch.push(index / 30, np.round(16384 * (REST_G + NOISY_G * rng.standard_normal(3))), None)
        still.append(not watch.moving)
    assert all(still[30:])


def test_readings_beyond_all_numbers_are_a_movement() -> None:
    """Whatever a board says is a number: a line has room for two hundred digits."""
    watch = StillWatch(16384)
    for index in range(100):
        watch.push(index / LINES_HZ, (1e200 * (-1) ** index, 300.0, 16000.0), None)
    assert watch.moving


def test_summary_without_a_thermometer() -> None:
    reading: Reading = summarise([0.0, 0.02, 0.04], [[1, 2, 3], [2, 3, 4], [3, 4, 5]], [None, None, None])
    assert reading.temperature_c is None
    assert reading.mean_counts == pytest.approx([2, 3, 4])
    assert reading.duration_s == pytest.approx(0.06)


def longest_moving_s(counts: np.ndarray, hz: float, hold_s: float = 0.7) -> float:
    """For how long, at most, lines at rest are called moving."""
    watch, longest, since_s = StillWatch(16384, hold_s=hold_s), 0.0, 0.0
    for index, line in enumerate(counts):
        watch.push(index / hz, line, None)
        since_s = index / hz if not watch.moving else since_s
        longest = max(longest, index / hz - since_s)
    return longest


def filtered(rng: np.random.Generator, lines: int, correlation: float) -> np.ndarray:
    """(N, 3) unit noise of a first-order filter."""
    white = np.sqrt(1 - correlation**2) * rng.standard_normal((lines + 50, 3))
    return np.asarray(lfilter([1.0], [1.0, -correlation], white, axis=0)[50:])


@pytest.mark.parametrize("before", [0.02, 0.3], ids=["hardly any noise", "a third of it"])
@pytest.mark.parametrize("for_s", [0.3, 5.0, 60.0])
def test_what_was_learned_too_quiet_is_learned_anew_within_5_seconds(before: float, for_s: float) -> None:
    """A lucky beginning, or a chip that becomes noisier: the same scatter for 5 s is noise."""
    rng = np.random.default_rng(4)
    size = np.where(np.arange(round((for_s + 20) * LINES_HZ)) < for_s * LINES_HZ, before, 1.0)
    counts = 16384 * (REST_G + NOISY_G * size[:, None] * rng.standard_normal((size.size, 3)))
    assert longest_moving_s(counts, LINES_HZ) < 5.0


@pytest.mark.long
@pytest.mark.parametrize(("hz", "noise_g", "correlation"), [(50, 2e-3, 0.0), (50, 2e-3, 0.5), (100, 5e-3, 0.5)])
def test_no_rest_is_called_a_movement_for_long(hz: float, noise_g: float, correlation: float) -> None:
    """500 beginnings of half a minute: none lasts 5 s, and at most one in a hundred 2 s."""
    longest = []
    for seed in range(500):
        noise = filtered(np.random.default_rng(seed), round(30 * hz), correlation)
        longest.append(longest_moving_s(np.round(16384 * (REST_G + noise_g * noise)), hz))
    print(f"median {np.median(longest):.2f} s, beyond 2 s {np.mean(np.array(longest) > 2):.2%}, {max(longest):.1f} s")
    assert max(longest) < 5.0
    assert np.mean(np.array(longest) > 2.0) <= 0.01
