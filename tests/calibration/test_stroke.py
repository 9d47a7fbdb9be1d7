"""The first stroke: hinge lines, sides, arrows and directions, of an aircraft of rigid points (rigid.py)."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pytest

from hingeline_calibration.arrays import Array
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum, mismatch
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, HingeAxis
from hingeline_calibration.stroke import SURE, Stroke, explain, read_stroke

from . import simulate as sim
from .rigid import Model

LINES_HZ = 50.0
SIDES = ("left", "right")


def swept(most_deg: float, seconds: float = 8.0) -> Array:
    """(N,) a stroke from neutral up, down and back, as slow as a hand."""
    time_s = np.arange(round(seconds * LINES_HZ)) / LINES_HZ
    return most_deg * np.sin(2 * np.pi * np.clip((time_s - 0.5) / (seconds - 1), 0, 1))


class Bench:
    """Pairs of calibrated sensors, and what they show line by line and at rest."""

    def __init__(self, seed: int, pairs: int, chip: str = "mpu6050") -> None:
        self.rng = np.random.default_rng(seed)
        self.benches = sim.draw(self.rng, 2 * pairs, chip)
        taken = sim.poses_of(self.benches, self.rng, sim.POSES["12+6"])
        self.calibrations = [sim.calibrated(self.benches, row) for row in taken]
        self.density_g = np.array(self.benches.chip.noise_ug_per_rthz) * 1e-6

    def gravities(self, index: int, ups: Array, seconds: float) -> list[Gravity]:
        """The means over so many seconds of white noise at ups (N, 3), one after the other."""
        calibration, counts_per_g = self.calibrations[index], self.benches.chip.counts_per_g
        noise_g = self.density_g / np.sqrt(2 * seconds)
        shown_g = ups @ self.benches.matrix[index].T + self.benches.offset_g[index]
        shown_g = shown_g + noise_g * self.rng.standard_normal(ups.shape)
        inverse = calibration.inverse_g_per_count * counts_per_g
        covariance = inverse @ np.diag(noise_g**2) @ inverse.T
        vectors = calibration.gravity_of_counts(shown_g * counts_per_g, 25.0)
        return [Gravity(vector, covariance, 25.0, number * seconds, seconds) for number, vector in enumerate(vectors)]

    def axis(self, index: int, model: Model, most_deg: float) -> HingeAxis:
        """The hinge line that a stroke of one sensor tells."""
        lines = self.gravities(index, model.up(index % 2, swept(most_deg)), 1 / LINES_HZ)
        return read_stroke(lines, self.calibrations[index]).axis

    def laid(self, index: int) -> Gravity:
        """On the flat, as its hand lays it: dust and surface of the priors."""
        off_deg = np.degrees(0.026 * np.pi / 180) * self.rng.standard_normal(2)
        up = Model(seat_deg=(off_deg[0], 0.0)).up(0, np.array([off_deg[1]]))
        return self.gravities(index, up, 0.7)[0]


def angle_at(bench: Bench, index: int, model: Model, true_deg: float, axis: HingeAxis) -> tuple[Deflection, Gravity]:
    """The angle from the datum of one sensor of a pair, and its gravity."""
    calibration = bench.calibrations[index]
    datum = Datum.take({calibration.sensor_id: bench.laid(index)}, calibration.date)
    now = bench.gravities(index, model.up(index % 2, np.array([true_deg])), 0.7)[0]
    return datum.angle(calibration.sensor_id, now, calibration, axis), now


def neutrals(bench: Bench, pairs: int, most_deg: float, **model: float) -> Array:
    """(3, B) deg: error of left minus right from the datum, its stated ±; how far the yaw is off in deviations."""
    rows = []
    for pair in range(pairs):
        yaws = 10.0 * bench.rng.choice([-1, 1], 2)
        standing = Model(**model, yaw_deg=tuple(yaws), seat_deg=tuple(0.5 * bench.rng.standard_normal(2)))
        true, angles, off = bench.rng.uniform(-3, 3, 2), [], []
        for side in (0, 1):
            index = 2 * pair + side
            axis = bench.axis(index, standing, most_deg)
            angles.append(angle_at(bench, index, standing, true[side], axis)[0])
            off.append((axis.yaw_deg + yaws[side]) / axis.yaw_sd_deg)
        gap = mismatch(*angles)
        rows.append((gap.deflection_deg - true[0] + true[1], (gap.interval_deg[1] - gap.interval_deg[0]) / 2, *off))
    return np.array(rows).T


@pytest.mark.parametrize(("most_deg", "within", "known_deg"), [(20, 0.95, 0.20), (5, 0.88, 0.32)])
def test_the_neutrals_of_a_v_tail_with_tape_10_degrees_askew(most_deg: float, within: float, known_deg: float) -> None:
    """A stroke of ±20°: 95 of 100 within 0.25°, a stated ± below 0.3°. Any stated ± holds, the yaw's too."""
    pairs = 100
    errors, stated, *off = neutrals(Bench(11, pairs), pairs, most_deg, dihedral_deg=35.0)
    assert np.mean(np.abs(errors) < 0.25) >= within
    assert np.mean(stated) <= known_deg
    least = 0.95 - 3 * np.sqrt(0.95 * 0.05 / pairs)
    assert np.mean(np.abs(errors) < stated) >= least
    assert np.mean(np.abs(off) < 1.96) >= 0.95 - 3 * np.sqrt(0.95 * 0.05 / 2 / pairs)


def test_without_its_stroke_a_v_tail_states_what_the_tape_may_do() -> None:
    """Tape 1° askew (1 sd), no stroke: sin(35°)/cos(35°) of it on each side, and the budget says so."""
    pairs = 200
    bench, rows = Bench(12, pairs), []
    for pair in range(pairs):
        standing = Model(
            dihedral_deg=35.0,
            yaw_deg=tuple(bench.rng.standard_normal(2)),
            seat_deg=tuple(0.5 * bench.rng.standard_normal(2)),
        )
        gap = mismatch(*(angle_at(bench, 2 * pair + side, standing, 0.0, HingeAxis())[0] for side in (0, 1)))
        rows.append((gap.deflection_deg, gap.standard_uncertainty_deg))
    errors, stated = np.array(rows).T
    assert np.median(stated) == pytest.approx(np.sqrt(2) * np.tan(np.radians(35)), rel=0.05)
    assert np.mean(np.abs(errors) < 1.96 * stated) >= 0.95 - 3 * np.sqrt(0.95 * 0.05 / pairs)


def seated(calibration: Calibration, model: Model, side: int, first_up: bool, turned: str = "") -> Stroke:
    """The stroke of a perfect sensor; `turned` is the axis of its carrier it sits turned about by 180°."""
    deflections = swept(15.0) if first_up else -swept(15.0)
    ups = model.up(side, deflections)
    for axis in turned:
        ups = ups * np.where(np.arange(3) == "xyz".index(axis), 1.0, -1.0)
    noise = 1e-3 * np.random.default_rng(3).standard_normal(ups.shape)
    lines = [
        Gravity(up, 1e-6 * np.eye(3), 25.0, number / LINES_HZ, 1 / LINES_HZ) for number, up in enumerate(ups + noise)
    ]
    return read_stroke(lines, calibration)


def strokes(model: Model, first_up: Iterable[bool], turned: Iterable[str] = ("", "")) -> dict[str, Stroke]:
    calibration = sim.exact()
    return {
        name: seated(calibration, model, side, up, about)
        for side, (name, up, about) in enumerate(zip("ab", first_up, turned, strict=True))
    }


TAPED = {"a": "left", "b": "right"}
STICK_RIGHT = {"left": -1, "right": 1}
WING = Model(dihedral_deg=6.0, sweep_deg=10.0, roll_deg=1.0, yaw_deg=(12.0, -7.0))
FLAT = Model(yaw_deg=(12.0, -7.0))


@pytest.mark.parametrize(("first_up", "is_reversed"), [(True, False), (False, True)])
def test_a_rudder_s_one_sensor_leans_with_no_wing(first_up: bool, is_reversed: bool) -> None:
    """A surface in the middle has no tip: its lean tells nothing, its first movement that the servo is as it should."""
    one = {"a": seated(sim.exact(), FLAT, 0, first_up)}
    best = explain(one, {"a": "middle"}, {"middle": 1}, dihedral_deg=6.0)[0]
    assert best.sides == {"a": "middle"}
    is_plain = not (best.reversed_servos or best.arrow_forward or best.stick_reversed)
    assert is_plain is not is_reversed


def test_sensors_as_they_should_be_need_no_question() -> None:
    best = explain(strokes(WING, (False, True)), TAPED, STICK_RIGHT, dihedral_deg=6.0)[0]
    assert best.probability > SURE
    assert (best.sides, best.arrow_forward, best.reversed_servos, best.upside_down) == (TAPED, set(), set(), set())


def test_swapped_sensors_are_known_by_the_dihedral() -> None:
    best = explain(strokes(WING, (False, True)), {"a": "right", "b": "left"}, STICK_RIGHT, dihedral_deg=6.0)[0]
    assert best.probability > SURE
    assert best.sides == TAPED
    assert not best.arrow_forward | best.reversed_servos


def test_an_arrow_forward_is_told_from_a_reversed_servo_by_the_dihedral() -> None:
    turned = explain(strokes(WING, (False, True), ("", "z")), TAPED, STICK_RIGHT, dihedral_deg=6.0, sides_known=True)[0]
    assert (turned.arrow_forward, turned.reversed_servos) == ({"right"}, set())
    assert turned.probability > SURE
    reversed_ = explain(strokes(WING, (False, False)), TAPED, STICK_RIGHT, dihedral_deg=6.0, sides_known=True)[0]
    assert (reversed_.arrow_forward, reversed_.reversed_servos) == (set(), {"right"})
    assert reversed_.probability > SURE


def test_on_a_flat_wing_both_are_named_and_neither_is_sure() -> None:
    first, second = explain(strokes(FLAT, (False, False)), TAPED, STICK_RIGHT, dihedral_deg=0.0, sides_known=True)[:2]
    assert first.probability < SURE
    assert {first.arrow_forward, second.arrow_forward} == {frozenset(), frozenset({"right"})}
    assert {first.reversed_servos, second.reversed_servos} == {frozenset({"right"}), frozenset()}
    # one servo in ten runs in reverse and three arrows of a hundred point forward: common practice, no source
    assert first.probability / second.probability == pytest.approx((0.1 * 0.97) / (0.9 * 0.03), rel=0.1)


def test_where_leans_tell_nothing_mistakes_are_as_likely_as_they_are_common() -> None:
    """Of a hundred, ten pairs are swapped, ten servos run in reverse, three arrows point forward, two sticks go first
    the other way: common practice, no source. On a flat wing a swapped pair looks right where the stick is wrong, too.
    """
    said = {
        (guess.sides["a"] == "right", guess.stick_reversed, len(guess.arrow_forward), len(guess.reversed_servos)): guess
        for guess in explain(strokes(FLAT, (False, True)), TAPED, STICK_RIGHT, dihedral_deg=0.0)
    }
    right = said[False, False, 0, 0].probability
    assert said[True, True, 0, 0].probability / right == pytest.approx((10 / 90) * (2 / 98), rel=0.1)
    assert said[True, False, 0, 2].probability / right == pytest.approx((10 / 90) * (10 / 90) ** 2, rel=0.1)
    assert said[False, True, 0, 2].probability / right == pytest.approx((2 / 98) * (10 / 90) ** 2, rel=0.1)
    assert said[True, False, 2, 0].probability / right == pytest.approx((10 / 90) * (3 / 97) ** 2, rel=0.1)


def test_a_dihedral_of_one_degree_tells_the_sides_as_well_as_carriers_seat() -> None:
    """On skins a carrier leans by 1° (1 sd), a model stands level to 2°, which both sides share: common practice.

    As taped the leans differ by the 2° they should, swapped by 4° more. The model's part falls out of a difference,
    which scatters by √2 of a seat: about exp(-16/(4 · 1°²)).
    """
    leans = strokes(Model(dihedral_deg=1.0, yaw_deg=(12.0, -7.0)), (False, True))
    variance = 1.0 + np.mean([stroke.lean_sd_deg**2 for stroke in leans.values()])
    apart_deg = leans["a"].lean_deg - leans["b"].lean_deg
    misses2 = (apart_deg + 2.0) ** 2 - (apart_deg - 2.0) ** 2
    guesses = explain(leans, TAPED, STICK_RIGHT, dihedral_deg=1.0)
    plain = {
        (guess.sides["a"], guess.stick_reversed): guess.probability
        for guess in guesses
        if not guess.arrow_forward | guess.reversed_servos
    }
    odds = plain["right", True] / plain["left", False] / ((10 / 90) * (2 / 98))
    assert odds == pytest.approx(np.exp(-misses2 / (4 * variance)), rel=0.02)


@pytest.mark.parametrize("turned", ["x", "y"])
def test_a_lid_that_faces_the_ground_is_seen(turned: str) -> None:
    """Turned over about the arrow, +x points to the right; about the hinge, the arrow points forward as well."""
    best = explain(strokes(WING, (False, True), (turned, "")), TAPED, STICK_RIGHT, dihedral_deg=6.0, sides_known=True)[
        0
    ]
    assert best.upside_down == {"left"}
    assert best.arrow_forward == ({"left"} if turned == "x" else set())
    assert not best.reversed_servos


def test_the_first_end_is_the_one_reached_first() -> None:
    up_first = seated(sim.exact(), FLAT, 0, first_up=True)
    assert up_first.first_deg == pytest.approx(15, abs=0.5)
    assert up_first.second_deg == pytest.approx(-15, abs=0.5)
    assert seated(sim.exact(), FLAT, 0, first_up=False).first_deg == pytest.approx(-15, abs=0.5)


def test_a_stroke_that_is_too_short_is_refused() -> None:
    lines = [Gravity(up, 1e-6 * np.eye(3), 25.0, 0.02 * n, 0.02) for n, up in enumerate(FLAT.up(0, swept(2.0)))]
    with pytest.raises(CalibrationError, match=r"a sweep of 4\.\d°, expected at least 5°"):
        read_stroke(lines, sim.exact())
