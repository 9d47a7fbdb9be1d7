"""What is said before a number is trusted: warmth, age of a datum, a clock set back, gravity that is not 1 g."""

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest
from tests.host.checks.conftest import COUNTS_PER_G, instrument

from hingeline.errors import NotMeasurable
from hingeline.measure.cautions import (
    calibration_cautions,
    datum_cautions,
    doubt_of_gravity,
    doubt_of_length,
    gravity_cautions,
    temperature_cautions,
)
from hingeline_calibration.datum import Datum
from hingeline_calibration.still import Reading
from hingeline_calibration.temperature import Tempco

WARMED = replace(
    instrument("left").calibration,
    temperature_c=25.0,
    tempco=Tempco.of_chip("mpu6050"),
    date="2026-02-01T10:00:00+00:00",
)


def test_a_sensor_away_from_its_calibration_temperature_is_told():
    """Datasheet 0.86 mg/°C, rectangular: 0.5 mg/°C, so 0.05° is reached at 1.8 °C."""
    assert temperature_cautions(WARMED, 25.5) == ()
    (warm,) = temperature_cautions(WARMED, 33.0)
    assert "8.0 °C warmer than when calibrated: uncertain by ±0.45°" in warm
    (cold,) = temperature_cautions(WARMED, 15.0)
    assert "10.0 °C colder" in cold
    assert temperature_cautions(WARMED, None) == ()


def test_an_old_datum_is_told():
    datum = Datum({}, 0.1, 0.1, None, "2026-03-01T10:00:00+00:00")
    assert datum_cautions(datum, [WARMED], "2026-03-01T21:54:00+00:00") == ()  # half a day, less six minutes
    assert datum_cautions(datum, [WARMED], "2026-03-01T22:06:00+00:00")
    (old,) = datum_cautions(datum, [WARMED], "2026-03-03T10:00:00+00:00")
    assert "datum is 48 hours old" in old


def after_calibration(hours):
    return (datetime.fromisoformat(WARMED.date) + timedelta(hours=hours)).isoformat()


def test_a_datum_older_than_a_calibration_is_told():
    datum = Datum({WARMED.sensor_id: None}, 0.1, 0.1, None, after_calibration(-1))
    (later,) = datum_cautions(datum, [WARMED], after_calibration(1))
    assert f"older than the calibration of sensor {WARMED.sensor_id}" in later
    at_once = Datum({WARMED.sensor_id: None}, 0.1, 0.1, None, WARMED.date)
    assert datum_cautions(at_once, [WARMED], WARMED.date) == ()
    others = Datum({"another": None}, 0.1, 0.1, None, after_calibration(-1))
    assert datum_cautions(others, [WARMED], after_calibration(1)) == ()


@pytest.mark.parametrize("years", [1, 5, 50])
def test_a_datum_by_a_clock_set_back_is_not_taken_for_older_than_its_calibration(years):
    """To take it again would help nothing: the calibration is dated after now, and told so itself."""
    hours = -years * 8766
    datum = Datum({WARMED.sensor_id: None}, 0.1, 0.1, None, after_calibration(hours - 1))
    assert datum_cautions(datum, [WARMED], after_calibration(hours)) == ()


@pytest.mark.parametrize(("now", "is_told"), [("09:46", False), ("09:44", True)])
def test_a_clock_set_back_by_more_than_a_quarter_of_an_hour_is_told(now, is_told):
    datum = Datum({}, 0.1, 0.1, None, "2026-03-01T10:00:00+00:00")
    calibration = replace(WARMED, date=datum.date)
    for texts in (
        datum_cautions(datum, [], f"2026-03-01T{now}:00+00:00"),
        calibration_cautions(calibration, f"2026-03-01T{now}:00+00:00"),
    ):
        assert len(texts) == is_told
        assert not is_told or "0.3 hours after now by this computer's clock" in texts[0]


def test_a_calibration_that_was_kept_although_poor_says_why():
    poor = WARMED.marked_poor(("scale of axis x", "offset of axis y"))
    assert calibration_cautions(poor, WARMED.date) == (
        f"the calibration of sensor {WARMED.sensor_id} is poor: scale of axis x; offset of axis y",
    )


def lying(length_g):
    """A rest in which gravity has another length; the noise is 0.1 mg."""
    counts = np.array([0.0, 0.0, length_g * COUNTS_PER_G])
    return Reading(counts, np.eye(3) * (1e-4 * COUNTS_PER_G) ** 2, 25.0, 1.0, 50, 0.0)


@pytest.mark.parametrize("sign", [1, -1])
def test_gravity_off_by_what_noise_and_calibration_allow_is_no_matter(sign):
    """Of an exact calibration: four deviations of 0.1 mg, and 0.5 mg of a chip's non-linearity."""
    calibration = instrument("left").calibration
    assert gravity_cautions(calibration, lying(1 + sign * 0.0008)) == ()
    (caution,) = gravity_cautions(calibration, lying(1 + sign * 0.0010))
    assert f"shows {1 + sign * 0.001:.3f} g, expected 1 g within 0.001 g" in caution


@pytest.mark.parametrize("sign", [1, -1])
def test_gravity_off_by_a_tenth_is_of_a_broken_chip(sign):
    """0.09 g across tilts it by 5.2°."""
    calibration = instrument("left").calibration
    (caution,) = gravity_cautions(calibration, lying(1 + sign * 0.09))
    assert "its angles may be off by 5.2° and more" in caution
    with pytest.raises(NotMeasurable, match=r"expected 1 g within 0\.1 g: an axis is stuck"):
        gravity_cautions(calibration, lying(1 + sign * 0.11))


def test_an_angle_of_gravity_beyond_its_limit_is_none_however_little_it_is_off():
    """10 mg across are 0.57°; a scale 20 % low at 20° adds 21 mg to the length and turns the angle by 3°."""
    calibration = instrument("left").calibration
    assert doubt_of_gravity(calibration, lying(1.0004)) is None
    assert doubt_of_gravity(calibration, lying(1.001)) is not None
    doubt = doubt_of_gravity(calibration, lying(1.01))
    assert "shows 1.010 g at rest, not 1 g; the angle may be 0.6° wrong and more" in doubt.text


@pytest.mark.parametrize("length_g", [0.0, 0.02, 0.7, 1.3, 4.0, 65536 / 16384 * 3**0.5])
@pytest.mark.parametrize("is_calibrated", [True, False])
def test_a_length_that_no_resting_sensor_has_gives_no_angle(length_g, is_calibrated):
    """Nothing, a tap, and every axis at 65536 of the MPU-6050's counts: its datasheet has 16384 per g."""
    doubt = doubt_of_length(length_g, is_calibrated)
    assert f"{length_g:.2f} g" in doubt.reason
    assert "solder joints" in doubt.cure


@pytest.mark.parametrize("length_g", [0.86, 0.93, 1.0, 1.07, 1.14])
def test_the_worst_chip_has_an_angle_before_calibration(length_g):
    """MPU-6050 datasheet: zero-g offset ±80 mg, 3 % sensitivity, 2 % across; from 0.86 to 1.14 g."""
    assert doubt_of_length(length_g, is_calibrated=False) is None


def test_once_calibrated_it_is_to_be_nearer():
    """A chip drifts by some 10 mg over years; ten times as much is broken: common practice, no source."""
    assert doubt_of_length(1.01, is_calibrated=True) is None
    assert doubt_of_length(0.86, is_calibrated=True) is not None
