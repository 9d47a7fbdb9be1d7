"""Sweep: strokes counted until enough are done and the surface is back; points held before, on request."""

import pytest
from tests.host.procedures.scene import Scene, after, through

from hingeline.errors import NotMeasurable
from hingeline.measure.capture import PATIENCE_S
from hingeline.procedures.sweep import STROKE_S, Sweep

SHEET = """
[surface.flap]
throws.normal = { up = "20 deg", down = "20 deg" }
"""
ONCE = through(0, -20, 20, -20, 0, seconds=4)
LAGS = through(0, -20, 20, -20, 0, seconds=4) * 0.9
HALF = through(0, -20, 20, 0, seconds=4)


@pytest.fixture
def scene():
    return Scene("left", "right")


@pytest.fixture
def sweep_of(sheet_of, scene):
    """A function that begins a sweep."""
    return lambda **more: Sweep(sheet_of(SHEET), "flap", scene.instruments, **{"sweeps": 1, **more})


def test_strokes_are_counted_until_enough_are_done(sweep_of, scene):
    sweep = sweep_of()
    assert sweep.step.ask == "flap: sticks centred, hands off."
    sweep = after(sweep, scene.still(left=0.0, right=0.0))
    step = sweep.step
    assert step.ask == "flap: sweep slowly from end to end, 2 strokes; then back to neutral, hands off."
    assert (step.patience_s, step.can_stand) == (PATIENCE_S + 2 * STROKE_S, False)
    first = sweep.after(scene.goes(left=HALF, right=HALF))
    assert first.taken == "the strokes so far"
    assert first.procedure.step.ask.endswith("end to end, 1 of 2 strokes done; then back to neutral, hands off.")
    assert first.procedure.step.patience_s == PATIENCE_S + STROKE_S
    last = first.procedure.after(scene.goes(left=ONCE, right=ONCE))
    assert (last.taken, last.procedure.step) == ("the sweep", None)
    assert last.procedure.result.inside


def test_a_side_that_lags_is_found(sweep_of, scene):
    sweep = after(sweep_of(), scene.still(left=0.0, right=0.0), scene.goes(left=ONCE, right=LAGS))
    tracking = next(finding for finding in sweep.result.results if finding.name.startswith("tracking"))
    assert abs(tracking.value) == pytest.approx(2.0, abs=0.4)  # a tenth of 20° at the end
    assert not tracking.inside


def test_a_rest_at_an_end_is_not_back_unless_a_key_says_so(sweep_of, scene):
    """Sticks that were let go where the surface does not come back: a key ends the sweep."""
    sweep = after(sweep_of(), scene.still(left=0.0, right=0.0))
    to_end = through(0, -20, 20, -20, seconds=4)
    at_end = scene.goes(left=to_end, right=to_end)
    following = sweep.after(at_end)
    assert (following.procedure.strokes, following.procedure.result) == (2, None)
    assert "2 of 2 strokes done; then back to neutral" in following.procedure.step.ask
    assert sweep.after(at_end._replace(confirmed=True)).procedure.result is not None
    home = through(-20, 0)
    back = following.procedure.after(scene.goes(left=home, right=home))
    assert back.taken == "the sweep"
    assert not any("came back" in note for note in back.procedure.result.notes)


def test_a_knock_is_no_stroke(sweep_of, scene):
    sweep = after(sweep_of(), scene.still(left=0.0, right=0.0))
    knock = through(0, 1, 0, seconds=0.2)
    following = sweep.after(scene.goes(left=knock, right=knock))
    assert (following.taken, following.procedure.strokes) == ("", 0)
    assert following.procedure.step.ask == sweep.step.ask


def test_strokes_taken_back_have_never_been(sweep_of, scene):
    """Swept with a hand on the right side; taken back, then swept well."""
    sweep = after(sweep_of(), scene.still(left=0.0, right=0.0))
    mistaken = sweep.after(scene.goes(left=HALF, right=0.3 * HALF))
    assert mistaken.taken == "the strokes so far"
    assert (sweep.strokes, sweep.tracks) == (0, {})
    well = scene.goes(left=ONCE, right=ONCE)
    assert sweep.after(well).procedure.result.inside
    assert not mistaken.procedure.after(well).procedure.result.inside


def test_a_key_before_anything_has_moved_is_no_sweep(sweep_of, scene):
    """Space at once: one sample of one sensor has come since."""
    sweep = after(sweep_of(), scene.still(left=0.0, right=0.0))
    left, right = scene.ids
    event = scene.still(moved=False, confirmed=True)
    for tracks in ({left: (), right: ()}, {**scene.track({"left": through(0, 0)[:1]}), right: ()}):
        following = sweep.after(event._replace(tracks=tracks))
        assert (following.taken, following.procedure.strokes) == ("", 0)
        assert following.procedure.step is not None


@pytest.mark.parametrize(("points", "ways"), [("one-way", ("one way",)), ("both-ways", ("one way", "the other way"))])
def test_points_are_held_before_the_sweep_way_by_way(sweep_of, scene, points, ways):
    """Half stick at 0.4 of full stick on the left: expo."""
    sweep, asked, names = after(sweep_of(points=points), scene.still(left=0.0, right=0.0)), [], []
    for sign in (1, -1)[: len(ways)]:
        for part, left in ((0.5, 0.4), (1.0, 1.0), (0.5, 0.4)):
            asked.append(sweep.step.ask)
            assert sweep.step.all_moved
            following = sweep.after(scene.still(left=sign * 20 * left, right=sign * 20 * part))
            names.append(following.taken)
            sweep = following.procedure
    assert asked == [
        f"flap, {way}: {point}, and hold."
        for way in ways
        for point in ("half stick", "full stick", "half stick again, coming back")
    ]
    assert names == [f"reading {number} of {len(names)}" for number in range(1, len(names) + 1)]
    result = after(sweep, scene.goes(left=ONCE, right=ONCE)).result
    halves = {finding.name: finding for finding in result.results if "half of full stick" in finding.name}
    assert len(halves) == 2 * len(ways)
    for what, half in halves.items():
        assert half.value == pytest.approx(0.4 if what.startswith("left") else 0.5, abs=0.01)
        assert half.inside is what.startswith("right")


def test_a_point_taken_back_is_held_again(sweep_of, scene):
    sweep = after(sweep_of(points="one-way"), scene.still(left=0.0, right=0.0))
    assert sweep.after(scene.still(left=3.0, right=3.0)).taken == "reading 1 of 3"
    assert (sweep.held, sweep.step.ask) == ((), "flap, one way: half stick, and hold.")


def test_a_sensor_upside_down_is_refused_at_neutral(sweep_of, scene):
    scene.on_its_head.add("right")
    with pytest.raises(NotMeasurable, match="upside down"):
        sweep_of().after(scene.still(left=0.0, right=0.0))


def test_a_moment_is_shown_from_neutral(sweep_of, scene):
    assert tuple(sweep_of().judge(scene.rests())) == ()
    sweep = after(sweep_of(), scene.still(left=0.0, right=0.0))
    left, right = sweep.judge(scene.rests(left=7.0, right=-3.0))
    assert (left.now.deflection_deg, right.now.deflection_deg) == (
        pytest.approx(7, abs=0.15),
        pytest.approx(-3, abs=0.15),
    )
