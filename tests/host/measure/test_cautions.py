"""What is said before a number is trusted: warmth and age of a datum."""

from dataclasses import replace

from tests.host.checks.conftest import instrument

from hingeline.measure.cautions import datum_cautions, temperature_cautions
from hingeline_calibration.datum import Datum
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
    assert datum_cautions(datum, [WARMED], "2026-03-01T18:00:00+00:00") == ()
    (old,) = datum_cautions(datum, [WARMED], "2026-03-03T10:00:00+00:00")
    assert "datum is 48 hours old" in old


def test_a_datum_older_than_a_calibration_is_told():
    datum = Datum({WARMED.sensor_id: None}, 0.1, 0.1, None, "2026-01-01T10:00:00+00:00")
    (later,) = datum_cautions(datum, [WARMED], "2026-01-01T11:00:00+00:00")
    assert f"older than the calibration of sensor {WARMED.sensor_id}" in later
