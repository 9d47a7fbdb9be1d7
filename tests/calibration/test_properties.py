"""Calibration and datum as records: each comes back as it was, and a spoilt one is refused or can be used."""

from __future__ import annotations

import json
from datetime import datetime, timezone

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from tests.calibration import simulate as sim
from tests.spoilt import FEW, JSON, spoilt_json

from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.errors import BadRecord, CalibrationError
from hingeline_calibration.hinge import deflection
from hingeline_calibration.still import Reading


def sound_calibration() -> Calibration:
    rng = np.random.default_rng(7)
    benches = sim.draw(rng, 1)
    return sim.calibrated(benches, sim.poses_of(benches, rng, sim.TWELVE)[0])


SOUND = sound_calibration()
LEVEL = Reading(SOUND.bias_counts + SOUND.matrix_counts_per_g[:, 2], np.eye(3), 25.0, 1.0, 50, 0.0)
TURNED = Reading(SOUND.bias_counts + SOUND.matrix_counts_per_g @ [0, 0.6, 0.8], np.eye(3), None, 1.0, 50, 9.0)
DATUM = Datum.take({SOUND.sensor_id: SOUND.gravity(LEVEL)}, SOUND.date)

numbers = st.floats(-1e9, 1e9)
texts = st.text(max_size=12)
faces = st.sampled_from(sim.FACES)
dates = st.datetimes(datetime(2000, 1, 1), datetime(2999, 1, 1), timezones=st.just(timezone.utc)).map(
    datetime.isoformat
)
four = st.lists(numbers, min_size=4, max_size=4)


def vectors(*shape: int, size: float = 1e6) -> st.SearchStrategy[list[float]]:
    return arrays(float, shape, elements=st.floats(-size, size)).map(np.ndarray.tolist)


@st.composite
def calibration_records(draw: st.DrawFn) -> dict[str, object]:
    """A sound record with other content, as far as each key may have any."""
    scale = draw(st.floats(1.0, 1e6))
    turned = np.eye(3) + np.array(draw(vectors(3, 3, size=0.1)))
    share = draw(st.just(0.0) | st.floats(1e-3, 10))
    record = SOUND.to_dict()
    laid = draw(st.lists(st.tuples(st.none() | faces, st.none() | numbers).map(list), max_size=3))
    laid.append([draw(faces), draw(numbers)])
    of_faces = sorted({face for face, _ in laid if face})
    parts = {name: [share * one for one in part] for name, part in record["covariance_parts"].items()}
    return record | {
        "sensor_id": draw(texts),
        "chip": draw(texts),
        "counts_per_g": scale,
        "matrix_counts_per_g": (scale * turned).tolist(),
        "bias_counts": draw(vectors(3)),
        "covariance_parts": {name: [float(f"{one:.6g}") for one in part] for name, part in parts.items()},
        "temperature_c": draw(st.none() | numbers),
        "tempco": {
            "counts_per_c": draw(vectors(3)),
            "deviation_counts_per_c": draw(vectors(3)),
            "measured": draw(st.booleans()),
        },
        "date": draw(dates),
        "placements": laid,
        "residual_mg": draw(numbers),
        "noise_mg": draw(numbers),
        "table_tilt_deg": {face: draw(four) for face in of_faces},
        "squareness_deg": {face: draw(four) for face in of_faces},
        "priors_decide": draw(st.lists(texts, max_size=2)),
        "tool_version": draw(texts),
        "poor": draw(st.lists(texts, max_size=2)),
    }


@st.composite
def datum_records(draw: st.DrawFn) -> dict[str, object]:
    gravity = {
        "vector_g": [0.0, draw(st.floats(-0.5, 0.5)), 1.0],
        "covariance_g2": draw(vectors(3, 3)),
        "temperature_c": draw(st.none() | numbers),
        "time_s": draw(numbers),
        "duration_s": draw(st.floats(0, 1e6)),
    }
    return DATUM.to_dict() | {
        "gravity": dict.fromkeys(draw(st.lists(texts, max_size=3)), gravity),
        "level_sd_deg": draw(st.floats(0, 90)),
        "laying_sd_deg": draw(st.floats(0, 90)),
        "table_tilt_deg": draw(st.none() | numbers),
        "date": draw(dates),
        "misclosure_deg": draw(st.dictionaries(texts, numbers, max_size=2)),
    }


@FEW
@given(calibration_records())
def test_a_calibration_comes_back_as_it_was(record):
    assert Calibration.from_dict(json.loads(json.dumps(record))).to_dict() == record


@given(datum_records())
def test_a_datum_comes_back_as_it_was(record):
    assert Datum.from_dict(json.loads(json.dumps(record))).to_dict() == record


@given(spoilt_json(SOUND.to_dict()))
def test_a_spoilt_calibration_is_refused_or_can_be_used(record):
    try:
        calibration = Calibration.from_dict(record)
    except BadRecord:
        return
    json.dumps(calibration.to_dict(), allow_nan=False)
    try:
        neutral, now = calibration.gravity(LEVEL), calibration.gravity(TURNED)
        seen = deflection(neutral, now, calibration)
    except CalibrationError:
        return
    assert np.isfinite([seen.deflection_deg, seen.standard_uncertainty_deg]).all()


@given(spoilt_json(DATUM.to_dict()))
def test_a_spoilt_datum_is_refused_or_can_be_used(record):
    try:
        datum = Datum.from_dict(record)
        seen = datum.angle(SOUND.sensor_id, SOUND.gravity(TURNED), SOUND)
    except CalibrationError:
        return
    json.dumps(datum.to_dict(), allow_nan=False)
    assert np.isfinite([seen.deflection_deg, seen.standard_uncertainty_deg]).all()


@pytest.mark.parametrize("kind", [Calibration, Datum])
@given(JSON)
def test_anything_else_is_a_bad_record(kind, value):
    with pytest.raises(BadRecord):
        kind.from_dict(value)
