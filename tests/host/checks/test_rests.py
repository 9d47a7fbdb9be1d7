"""Play, centring and droop from rests and lines with known faults; limits are common practice, no source."""

import re

import numpy as np
import pytest

from hingeline.checks.centring import CentringCheck
from hingeline.checks.droop import is_held, judge_droop
from hingeline.checks.play import judge_play
from hingeline.errors import NotMeasurable
from hingeline.measure.neutral import NeutralReading
from hingeline.rig import load_sheet
from hingeline.rig.quantities import Measure

SHEET = """
schema_version = 1
aircraft = "Tin Plover"
modes = ["normal"]
[tolerances]
profile = "{profile}"
[surface.flap]
{chord}
throws.normal = {{ up = "20 deg", down = "20 deg" }}
"""
CHORD = 'chord = "50 mm"'


@pytest.fixture
def sheet_of(tmp_path):
    def write(profile: str = "glider", chord: str = CHORD):
        path = tmp_path / "plover.rig.toml"
        path.write_text(SHEET.format(profile=profile, chord=chord))
        return load_sheet(path)

    return write


def play_of(bench, sheet, play_deg: float, bend_deg: float = 0.2, limit: Measure | None = None):
    neutral = NeutralReading(bench.sides[:1], bench.rest(left=0.0, right=0.0))
    places = (play_deg / 2 + bend_deg, play_deg / 2, -play_deg / 2 - bend_deg, -play_deg / 2)
    taken = [bench.rest(left=place, right=0.0) for place in 5 * places]
    return judge_play(sheet, "flap", neutral, taken, limit)


def test_play_is_told_in_mm_at_the_chord(bench, sheet_of):
    found = play_of(bench, sheet_of(), 0.57)
    (play,) = found.results
    assert play.unit == "mm"
    assert play.value == pytest.approx(0.5, abs=0.05)  # 2 · 50 mm · sin(0.57°/2)
    assert play.limit == 0.5
    assert play.close
    assert re.search(r"0\.9\d°", found.notes[0])


def test_play_without_a_chord_is_an_angle(bench, sheet_of):
    (play,) = play_of(bench, sheet_of("sport", ""), 1.6).results
    assert (play.unit, play.inside) == ("deg", False)
    assert play.value == pytest.approx(1.6, abs=0.05)
    assert play.limit == pytest.approx(1.146, abs=1e-3)  # 1 mm on a circle of 50 mm


def test_no_play_is_none_and_a_weight_that_hides_it_is_told(bench, sheet_of):
    found = play_of(bench, sheet_of(), 0.0, bend_deg=0.4, limit=Measure(0.3, "deg"))
    (play,) = found.results
    assert play.inside
    assert abs(play.value) < 0.1
    assert any("hides" in note for note in found.notes)


def test_a_return_counts_by_where_it_came_from(bench):
    check = CentringCheck(bench.neutral(), limit_deg=0.2)

    def come_back(peak_deg: float, rest_deg: float) -> CentringCheck | None:
        way = np.concatenate([np.linspace(0, peak_deg, 20), np.linspace(peak_deg, rest_deg, 20)])
        tracks = {instrument.sensor_id: bench.samples(instrument.side, way) for instrument in bench.sides}
        return check.take(bench.rest(left=rest_deg, right=0.0), tracks)

    assert come_back(1.0, 0.0) is None, "never away"
    assert come_back(10.0, 9.0) is None, "still away"
    for _ in range(5):
        check = come_back(10.0, 0.15)
        former, check = check, come_back(-10.0, -0.15)
    assert check.least == 5
    check = former
    assert [len(check.gravities("left", way)) for way in ("above", "below")] == [5, 4]
    check = come_back(-10.0, -0.15)
    found = {one.name: one for one in check.result().results}
    assert found["left, hysteresis"].value == pytest.approx(0.3, abs=0.05)
    assert not found["left, hysteresis"].inside
    assert found["right, hysteresis"].inside
    assert found["left, spread at neutral"].inside


def droop_of(bench, left_deg: np.ndarray):
    neutral = bench.neutral()
    start = bench.rest(left=left_deg[0], right=-30.0)
    left, right = (instrument.sensor_id for instrument in bench.sides)
    held = np.full(left_deg.size, -30.0)
    tracks = {left: bench.samples("left", left_deg), right: bench.samples("right", held)}
    assert is_held(neutral, start)
    assert not is_held(neutral, bench.rest(left=0.0, right=0.0))
    return {one.name: one for one in judge_droop(neutral, start, tracks).results}


def test_droop_is_the_creep_from_start_to_end(bench):
    found = droop_of(bench, np.linspace(-30.0, -29.0, 3000))
    assert found["left, droop"].value == pytest.approx(0.98, abs=0.08)
    assert not found["left, droop"].inside
    assert found["right, droop"].inside
    assert found["left - right, droop"].value == pytest.approx(0.98, abs=0.1)


def test_a_surface_that_was_moved_has_no_droop(bench):
    with pytest.raises(NotMeasurable, match="left side went"):
        droop_of(bench, np.concatenate([np.full(1500, -30.0), np.full(1500, -10.0)]))
