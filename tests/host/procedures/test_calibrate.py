"""Calibration: poses in any order, what is refused and why, and a calibration at the end."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, NOISE_G
from tests.host.procedures.feed import events
from tests.host.procedures.scene import after, info

from hingeline.procedures.calibrate import FACES_AT, HOLD_S, Calibrate
from hingeline.procedures.procedure import Taken
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.still import summarise

LEFT, RIGHT = "b-left", "b-right"
BIAS_G = {LEFT: (0.04, -0.03, 0.06), RIGHT: (-0.02, 0.01, 0.03)}
FACES = ("+x", "-x", "+y", "-y", "+z", "-z")
NAMES = dict(zip(FACES, ("left end up", "right end up", "arrow up", "arrow down", "lid up", "lid down"), strict=True))
"""As a person sees them: the arrow is the carrier's y."""
TABLE_DEG = 0.3


class Table:
    """Carriers on a table that is a little off level, each with a chip whose bias is its own."""

    def __init__(self, scale=1.0):
        self.time_s, self._rng, self._scale = 10.0, np.random.default_rng(3), {LEFT: scale, RIGHT: 1.0}
        self._last = {}

    def lay(self, moved_s=1.0, leaned_deg=0.0, yaw_deg=0.0, **face_of):
        """Carriers are laid on faces, as `left="+x"`, turned on their spot; the others stay where they lie."""
        for side, face in face_of.items():
            self._last[f"b-{side}"] = self._reading(f"b-{side}", face, yaw_deg, leaned_deg)
        return Taken(dict(self._last), moved_s={f"b-{side}": moved_s for side in face_of})

    def _reading(self, sensor_id, face, yaw_deg, leaned_deg):
        up = np.zeros(3)
        up["xyz".index(face[1])] = 1.0 if face[0] == "+" else -1.0
        level = np.roll(up, 1)
        off = Rotation.from_rotvec(np.radians(yaw_deg) * up).inv().apply(level)
        shown = Rotation.from_rotvec(np.radians(TABLE_DEG) * off).apply(up)
        shown = Rotation.from_rotvec(np.radians(leaned_deg) * level).apply(shown)
        times_s = self.time_s + np.arange(50) / LINES_HZ
        self.time_s += 3.0
        counts = self._scale[sensor_id] * shown + BIAS_G[sensor_id] + self._rng.normal(0, NOISE_G, (50, 3))
        return summarise(times_s, COUNTS_PER_G * counts, [None] * 50)


@pytest.fixture
def table():
    return Table()


def calibrate(*sensor_ids, turns="1"):
    return Calibrate.of([info(each) for each in sensor_ids], "2026-01-01T00:00:00+00:00", FACES_AT[turns])


def texts(following):
    return [message.text for message in following.messages]


def test_six_faces_in_any_order_make_a_calibration(table):
    procedure = calibrate(LEFT)
    assert procedure.step.ask == "6 poses for each of 1 sensor. Lay every carrier on a face and let go."
    assert (procedure.step.sensors, procedure.step.hold_s) == ((LEFT,), HOLD_S)
    for number, face in enumerate(reversed(FACES), 1):
        following = procedure.after(table.lay(left=face))
        assert following.taken == "", "a pose that was no good is laid again, not taken back"
        assert events(following) == [("rest", {"sensor_id": LEFT, "name": NAMES[face], "refused": ""})]
        (text,) = texts(following)
        assert text.startswith(f"{LEFT}: {NAMES[face]}, {number} of 6")
        assert ("; to do: " in text, "; complete" in text) == (number < 6, number == 6)
        procedure = following.procedure
    assert procedure.step is None
    found = procedure.results[LEFT]
    assert isinstance(found, Calibration)
    assert found.bias_counts / COUNTS_PER_G == pytest.approx(BIAS_G[LEFT], abs=0.008)  # the table is off by 0.005 g


def test_each_sensor_goes_at_its_own_pace(table):
    procedure = after(calibrate(LEFT, RIGHT), table.lay(left="+x", right="+z"))
    following = procedure.after(table.lay(left="-x"))
    assert [fields["sensor_id"] for _, fields in following.results] == [LEFT], "the other one was not moved"
    procedure = after(following.procedure, *(table.lay(left=face) for face in FACES[2:]))
    assert set(procedure.results) == {LEFT}
    assert procedure.step is not None
    procedure = after(procedure, *(table.lay(right=face) for face in FACES if face != "+z"))
    assert set(procedure.results) == {LEFT, RIGHT}
    assert procedure.step is None


def test_a_bumped_table_is_no_new_pose(table):
    procedure = after(calibrate(LEFT, turns="2"), table.lay(left="+x"))
    following = procedure.after(table.lay(moved_s=0.1, left="+x"))
    assert texts(following) == [f"{LEFT}: the same again not taken: it was bumped, not laid anew"]
    ((_, fields),) = following.results
    assert fields["refused"]
    assert len(following.procedure.progress[LEFT].checklist.taken) == 1
    turned = following.procedure.after(table.lay(yaw_deg=180, left="+x"))
    assert texts(turned)[0].startswith(f"{LEFT}: left end up, turned 180°, 2 of 12")


def test_a_face_too_many_is_not_taken(table):
    procedure = after(calibrate(LEFT), table.lay(left="+x"))
    following = procedure.after(table.lay(left="+x"))
    (text,) = texts(following)
    assert text.startswith(f"{LEFT}: pose not taken: left end up: all poses of this kind are done")
    assert len(following.procedure.progress[LEFT].checklist.taken) == 1


def test_a_sensor_of_another_range_is_left_out_and_the_others_go_on():
    table = Table(scale=0.5)
    following = calibrate(LEFT, RIGHT).after(table.lay(left="+x", right="+x"))
    refused, taken = texts(following)
    assert "0.5" in refused
    assert refused.endswith("The sensor is left out")
    assert taken.startswith(f"{RIGHT}: left end up, 1 of 6")
    procedure = following.procedure
    assert procedure.step.sensors == (RIGHT,)
    assert isinstance(procedure.results[LEFT], CalibrationError)
    procedure = after(procedure, *(table.lay(right=face) for face in FACES[1:]))
    assert procedure.step is None
    assert isinstance(procedure.results[RIGHT], Calibration)


def test_a_face_that_was_propped_up_is_asked_for_again(table):
    """A crumb of 3° under one face: both its poses are laid again, the others hold."""
    poses = [(face, yaw_deg) for yaw_deg in (0, 180) for face in FACES]
    procedure = calibrate(LEFT, turns="2")
    for face, yaw_deg in poses:
        leaned_deg = 3.0 if (face, yaw_deg) == ("-y", 0) else 0.0
        following = procedure.after(table.lay(yaw_deg=yaw_deg, leaned_deg=leaned_deg, left=face))
        procedure = following.procedure
    doubted = [fields["name"] for _, fields in following.results if fields["refused"]]
    assert doubted
    assert all(name.startswith("arrow down") for name in doubted)
    assert len(procedure.progress[LEFT].checklist.taken) == 12 - len(doubted)
    for yaw_deg in (0, 180)[: len(doubted)]:
        procedure = after(procedure, table.lay(yaw_deg=yaw_deg, left="-y"))
    assert procedure.step is None
    assert isinstance(procedure.results[LEFT], Calibration)


def test_a_calibration_out_of_every_datasheet_is_marked(table):
    """A sensor whose scale is 9 % off is calibrated, and called poor."""
    table = Table(scale=1.09)
    procedure = after(calibrate(LEFT), *(table.lay(left=face) for face in FACES))
    assert "scale of axis x" in " ".join(procedure.results[LEFT].poor)
