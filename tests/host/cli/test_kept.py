"""What `hingeline calibration` tells of a calibration that is kept: figures of a file, converted by hand."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from hingeline.cli.kept import calibration_row, calibration_text, load
from hingeline.errors import NotStored
from hingeline.storage.store import Store
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.temperature import Tempco

HOME = Path(__file__).parents[2] / "data" / "formats" / "2" / "home"
SENSOR = "e66166d8e325-104"


@pytest.fixture
def fit() -> Calibration:
    (file,) = (HOME / "calibration" / SENSOR).iterdir()
    return Calibration.from_dict(json.loads(file.read_text())["payload"])


def test_a_calibration_is_told_in_counts_per_cent_and_mg(fit):
    """Of 16384 counts/g: 16882.2 are 3.04 % more; 818.2 counts are 49.9 mg."""
    assert calibration_text(fit).splitlines()[:7] == [
        f"{SENSOR}  mpu6050  calibrated 2025-09-14T07:54:36+00:00",
        "  x:   16882.2 counts/g (+3.04 %), bias   +818.2 counts (+49.9 mg)",
        "  y:   15893.9 counts/g (-2.99 %), bias   -820.0 counts (-50.1 mg)",
        "  z:   16801.4 counts/g (+2.55 %), bias  +1310.9 counts (+80.0 mg)",
        "  residual 0.18 mg over 12 poses at 22.0 °C",
        "  table 0.39° off level",
        "  carrier out of square by 0.04° ±0.28 at most (arrow down)",
    ]
    assert calibration_row(fit, 3) == f"{SENSOR}  number 3  2025-09-14  12 poses  22.0 °C  residual 0.18 mg"


def test_what_is_not_known_is_not_told(fit):
    text = calibration_text(replace(fit, temperature_c=None, priors_decide=("shear xy",)))
    assert "  residual 0.18 mg over 12 poses\n" in text
    assert "out of square by" not in text
    assert "not measured by these poses" in text
    assert "shear xy" in text
    assert "°C" not in text
    assert "not measured by these poses" not in calibration_text(fit)
    assert "°C" not in calibration_row(replace(fit, temperature_c=None), 1)


def test_what_is_poor_stands_at_its_end(fit):
    poor = fit.marked_poor(("residual too large", "too few poses"))
    assert calibration_text(poor).splitlines()[-2:] == ["  POOR: residual too large", "  POOR: too few poses"]
    assert calibration_row(poor, 1).endswith("residual 0.18 mg  POOR: residual too large; too few poses")


def test_a_measured_coefficient_is_told_in_mg(fit):
    """16.384 counts of 16384 counts/g are 1 mg."""
    measured = replace(fit, tempco=Tempco(16.384 * np.array([0.5, -1.25, 2.0]), np.zeros(3), True))
    assert "  bias changes by +0.50, -1.25, +2.00 mg/°C (x, y, z)" in calibration_text(measured).splitlines()
    assert "bias changes" not in calibration_text(fit)


def test_a_calibration_is_found_by_the_end_of_its_sensors_name(fit, tmp_path):
    assert load(Store(HOME), "104", None).sensor_id == SENSOR
    assert load(Store(HOME), SENSOR, 1).date == fit.date
    with pytest.raises(NotStored, match="No calibration is kept in"):
        load(Store(tmp_path), "104", None)
