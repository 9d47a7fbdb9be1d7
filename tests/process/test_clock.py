"""A computer's clock that was set back: what bears a later date than now is told, and no age is negative."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from hingeline.measure.cautions import calibration_cautions, datum_cautions
from hingeline.storage.calibrations import load_datum
from hingeline.storage.store import Store
from hingeline_calibration.calibration import Calibration

HOME = Path(__file__).parents[1] / "data" / "formats" / "1" / "home"


@pytest.fixture(scope="module")
def datum():
    return load_datum(Store(HOME))


@pytest.fixture(scope="module")
def calibrations():
    store = Store(HOME)
    return [Calibration.from_dict(store.load("calibration", one)) for one in store.keys("calibration")]


def after(date: str, hours: float) -> str:
    return (datetime.fromisoformat(date) + timedelta(hours=hours)).isoformat()


@pytest.mark.parametrize(
    ("hours", "told"),
    [
        (1, ""),
        (-0.1, ""),
        (-3, "3.0 hours after now by this computer's clock, which was set back"),
        (13, "13 hours old"),
    ],
)
def test_the_age_of_a_datum(datum, calibrations, hours, told):
    said = datum_cautions(datum, calibrations, after(datum.date, hours))
    assert len(said) == bool(told)
    assert told in "".join(said)
    assert "-" not in "".join(said).replace(datum.date, "")


def test_a_calibration_of_tomorrow_is_told(calibrations):
    one = calibrations[0]
    (told,) = calibration_cautions(one, after(one.date, -24))
    assert f"calibration of sensor {one.sensor_id} is dated {one.date}, 24.0 hours after now" in told
    assert calibration_cautions(one, after(one.date, 24)) == ()
