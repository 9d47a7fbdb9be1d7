"""Each conversion has one function: what it makes of one reading, it makes of the lines of a track."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, instrument, up_g

from hingeline.device.samples import Sample
from hingeline.errors import NotMeasurable
from hingeline.measure.pipeline import FixedPart, close_datum, sensors_of, small_travel_mm, take_datum, travel_of
from hingeline.measure.tracks import track
from hingeline_calibration.hinge import HingeAxis
from hingeline_calibration.still import Reading, summarise
from hingeline_calibration.temperature import Tempco

MATRIX = COUNTS_PER_G * (np.eye(3) + np.array([[0.01, 0.02, 0], [-0.01, 0.03, 0.01], [0, 0.02, -0.02]]))
BIAS, PER_C, WARMER_C = np.array([300.0, -200.0, 900.0]), np.array([5.0, -3.0, 8.0]), 6.0
YAW_DEG, DEFLECTION_DEG = 12.0, 17.0


@pytest.fixture
def sensor():
    """A sensor with scale, misalignment, bias and a measured temperature coefficient, its edge off the hinge."""
    plain = instrument("left")
    calibration = replace(
        plain.calibration,
        matrix_counts_per_g=MATRIX,
        bias_counts=BIAS,
        temperature_c=20.0,
        tempco=Tempco(PER_C, np.zeros(3), True),
    )
    yaw = np.radians(YAW_DEG)
    return replace(plain, calibration=calibration, hinge=HingeAxis((np.cos(yaw), np.sin(yaw), 0.0)))


def samples(deflection_deg: np.ndarray) -> tuple[Sample, ...]:
    """The lines of that sensor, 6 °C warmer, without noise."""
    yawed = Rotation.from_euler("z", YAW_DEG, degrees=True).apply(up_g(deflection_deg))
    counts = yawed @ MATRIX.T + BIAS + PER_C * WARMER_C
    return tuple(
        Sample("b-left", number / LINES_HZ, tuple(line), 4, 20.0 + WARMER_C, number)
        for number, line in enumerate(counts)
    )


def reading(lines: tuple[Sample, ...]):
    times, counts, temperatures = zip(*((line.time_s, line.counts, line.temperature_c) for line in lines), strict=True)
    return summarise(times, counts, temperatures)


def test_a_reading_and_the_lines_of_a_track_come_to_the_same_gravity_and_deflection(sensor):
    neutral = reading(samples(np.zeros(50)))
    lines = samples(np.full(50, DEFLECTION_DEG))
    still, swept = sensor.calibration.gravity(reading(lines)), track(sensor, neutral, lines)
    assert still.vector_g == pytest.approx(np.linalg.norm(still.vector_g) * swept.gravity_g[0])
    assert np.linalg.norm(still.vector_g) == pytest.approx(1.0)
    turned = sensor.deflection(sensor.calibration.gravity(neutral), still)
    assert turned.deflection_deg == pytest.approx(DEFLECTION_DEG)
    assert swept.deflection_deg == pytest.approx(np.full(50, DEFLECTION_DEG))


@pytest.mark.parametrize(("convention", "mm"), [("ruler", 14.781), ("height", 14.619), ("arc", 14.835)])
def test_travel_carries_the_chords_uncertainty(sensor, convention, mm):
    """At 50 mm and 17°, by the three formulas; 0.3 mm of chord is that share of the travel."""
    neutral, now = (sensor.calibration.gravity(reading(samples(np.full(50, deg)))) for deg in (0.0, DEFLECTION_DEG))
    travel = travel_of(sensor.deflection(neutral, now), 50.0, convention, 0.6)
    assert travel.travel_mm == pytest.approx(mm, abs=0.001)
    assert dict(travel.budget.items())["chord"] == pytest.approx(0.3 * mm / 50, rel=1e-3)


def lying(length_g: float, name: str):
    """A rest with gravity of another length, lid up."""
    return {name: Reading(np.array([0, 0, length_g * COUNTS_PER_G]), np.eye(3), 25.0, 1.0, 50, 0.0)}


SOUND, LONG = 1.0, 1.05
"""5 % across are 2.9°."""


@pytest.mark.parametrize(
    ("first", "second", "named"),
    [
        ((SOUND, SOUND), (SOUND, SOUND), None),
        ((LONG, SOUND), (SOUND, SOUND), "b-left"),
        ((SOUND, SOUND), (LONG, SOUND), "b-left"),
        ((SOUND, LONG), (SOUND, SOUND), "b-fixed"),
        ((SOUND, SOUND), (SOUND, LONG), "b-fixed"),
    ],
)
def test_no_angle_is_computed_where_any_sensor_of_any_reading_shows_another_gravity(first, second, named):
    part = FixedPart("b-fixed", instrument("fixed").calibration)
    watched = replace(instrument("left"), fixed=part)
    several = [{**lying(own, "b-left"), **lying(fixed, "b-fixed")} for own, fixed in (first, second)]
    doubt = watched.trouble(*several)
    assert (doubt is None) == (named is None)
    assert doubt is None or f"sensor {named} shows 1.050 g" in doubt.reason
    assert instrument("left").trouble(lying(LONG, "b-left")) is not None


@pytest.mark.parametrize(("deg", "is_refused"), [(85.0, False), (-85.0, False), (95.0, True), (180.0, True)])
def test_a_lid_that_faces_the_ground_is_refused_at_neutral(deg, is_refused):
    up = np.array([0.0, np.sin(np.radians(deg)), np.cos(np.radians(deg))])
    rest_of = {"b-left": Reading(COUNTS_PER_G * up, np.eye(3), 25.0, 1.0, 50, 0.0)}
    if not is_refused:
        assert instrument("left").at_neutral(rest_of).vector_g == pytest.approx(up)
        return
    with pytest.raises(NotMeasurable, match=r"The left sensor b-left is upside down.*it shows -[01]\.\d\d g along z"):
        instrument("left").at_neutral(rest_of)


def test_sensors_that_are_needed_are_those_of_the_sides_and_the_fixed_one_last():
    part = FixedPart("b-fixed", instrument("fixed").calibration)
    sides = [replace(instrument(side), fixed=part) for side in ("left", "right")]
    assert sensors_of(sides) == ("b-left", "b-right", "b-fixed")
    assert sensors_of([instrument("left")]) == ("b-left",)


def test_a_tolerance_in_degrees_is_a_travel_where_the_surface_stands():
    """0.5° at 50 mm are 0.436 mm; at 60° half of it square to the chord, and as much along the path."""
    assert small_travel_mm(0.5, 0.0, 50.0, "height") == pytest.approx(0.4363, abs=1e-4)
    assert small_travel_mm(0.5, 60.0, 50.0, "height") == pytest.approx(0.2182, abs=1e-4)
    assert small_travel_mm(0.5, 60.0, 50.0, "arc") == pytest.approx(0.4363, abs=1e-4)


def leaning(deg: float):
    """Both sensors on a flat that leans them by an angle about x, without noise."""
    up = COUNTS_PER_G * np.array([0.0, np.sin(np.radians(deg)), np.cos(np.radians(deg))])
    return {name: Reading(up, np.eye(3), 25.0, 1.0, 50, 0.0) for name in ("b-left", "b-right")}


def test_a_datum_turned_end_for_end_knows_level_and_the_table():
    """Reversal, the classical level test: the table is half the difference, the sensor the mean."""
    calibrations = {f"b-{side}": instrument(side).calibration for side in ("left", "right")}
    turned = take_datum(calibrations, leaning(0.8), leaning(-0.4), date="2026-01-01T00:00:00+00:00")
    assert turned.table_tilt_deg == pytest.approx(0.6)
    assert turned.level_sd_deg == 0.0
    assert np.degrees(np.arctan2(*turned.gravity["b-left"].vector_g[1:])) == pytest.approx(0.2, abs=1e-3)
    once = take_datum(calibrations, leaning(0.8), date="2026-01-01T00:00:00+00:00")
    assert once.table_tilt_deg is None
    assert once.level_sd_deg > 0.1
    assert np.degrees(np.arctan2(*once.gravity["b-left"].vector_g[1:])) == pytest.approx(0.8, abs=1e-3)
    drifted = close_datum(once, calibrations, leaning(0.5))
    assert drifted.drift_deg == pytest.approx({"b-left": -0.3, "b-right": -0.3}, abs=1e-6), "y went down"
