"""A sensor on a fixed part: what was shown before the first reading changes no result."""

from dataclasses import replace

import numpy as np
import pytest
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, instrument, rest, up_g

from hingeline.checks.neutral import NeutralCheck
from hingeline.measure.pipeline import FixedPart
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH
from hingeline_calibration.datum import Datum
from hingeline_calibration.still import summarise

SHEET = """
schema_version = 1
aircraft = "Even"
modes = ["normal"]
[surface.aileron]
throws.normal = { up = "12 deg", down = "8 deg" }
"""


def readings(left_deg: float, right_deg: float, pitch_deg: float = 0.0) -> dict:
    """Both sides and the fixed part, the whole model pitched."""
    fixed = summarise(np.arange(50) / LINES_HZ, COUNTS_PER_G * up_g(np.full(50, 4.0 + pitch_deg)), [None] * 50)
    return {**rest(left_deg + pitch_deg, right_deg + pitch_deg), "b-fixed": fixed}


@pytest.fixture
def begun(tmp_path):
    """What begins a neutral check: two sides and a fixed part, level datum."""
    path = tmp_path / "even.rig.toml"
    path.write_text(SHEET)

    def begin() -> NeutralCheck:
        part = FixedPart("b-fixed", instrument("fixed").calibration)
        sides = tuple(replace(instrument(side), fixed=part) for side in BOTH)
        flat = readings(4.0, 4.0)
        gravity = {side.sensor_id: side.calibration.gravity(flat[side.sensor_id]) for side in sides}
        return NeutralCheck(load_sheet(path), "aileron", sides, Datum.take(gravity, "2026-01-01T00:00:00+00:00"))

    return begin


def read(check: NeutralCheck, given: dict) -> tuple[NeutralCheck, dict[str, float]]:
    check, reading = check.read(given)
    return check, {side: angle.deg for side, angle in reading.angles.items()}


def test_what_is_shown_while_the_model_moves_changes_no_reading(begun):
    """A replay shows nothing; live, the display asks while the model is still being lifted onto its stand."""
    live, replayed = begun(), begun()
    live.moments(readings(0.0, 0.0, pitch_deg=3.0))
    _, expected = read(replayed, readings(1.0, 0.5))
    _, angles_deg = read(live, readings(1.0, 0.5))
    assert angles_deg == pytest.approx(expected)
    assert expected["left"] - expected["right"] == pytest.approx(0.5, abs=1e-6)


def test_the_motion_after_the_first_reading_is_taken_out(begun):
    check, first = read(begun(), readings(1.0, 0.5))
    _, second = read(check, readings(1.0, 0.5, pitch_deg=2.0))
    assert second == pytest.approx(first, abs=1e-6)
