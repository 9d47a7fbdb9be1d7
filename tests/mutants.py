"""The key lines, each with a way to break it and the tests that are to notice: `mutation.py` breaks them."""

from __future__ import annotations

from typing import NamedTuple


class Mutant(NamedTuple):
    """A broken line.

    Attributes
    ----------
    what
        What it breaks, in words.
    file
        Where, from the root of the tree.
    text, broken
        What stands there once, and what is put in its place.
    tests
        Those that are to notice, as pytest takes them, without the `tests/` before.
    """

    what: str
    file: str
    text: str
    broken: str
    tests: str


MATHS, HOST, PROTOCOL, BOARD = (
    "calibration/hingeline_calibration/",
    "host/hingeline/",
    "shared_protocol/hingeline_protocol/",
    "firmware/hingeline_firmware/",
)
MUTANTS = (
    Mutant(
        "sign of the cross product",
        f"{MATHS}hinge.py",
        "dot(cross(u, u0), h)",
        "dot(cross(u0, u), h)",
        "calibration/test_hinge.py",
    ),
    Mutant(
        "the part of gravity along the hinge",
        f"{MATHS}hinge.py",
        "dot(u, u0) - dot(u, h) * dot(u0, h)",
        "dot(u, u0)",
        "calibration/test_hinge.py",
    ),
    Mutant(
        "a hinge that is vertical",
        f"{MATHS}hinge.py",
        "if angle_deg < LEAST_ANGLE_DEG:",
        "if angle_deg < 0:",
        "calibration/test_hinge.py",
    ),
    Mutant(
        "left minus right",
        f"{MATHS}hinge.py",
        "left.deflection_deg - right.deflection_deg,",
        "right.deflection_deg - left.deflection_deg,",
        "calibration/test_hinge.py calibration/test_datum.py",
    ),
    Mutant(
        "an error that both readings share",
        f"{MATHS}hinge.py",
        "end - by_start[:, None]",
        "end + by_start[:, None]",
        "calibration/test_honesty.py",
    ),
    Mutant(
        "bias from each axis's own pair",
        f"{MATHS}poses.py",
        "np.diag(up + down) / 2",
        "counts.mean(axis=0)",
        "calibration/test_six_poses.py",
    ),
    Mutant(
        "yaw of a pose",
        f"{MATHS}estimator.py",
        "expected[pose, 0, first + 3] = np.sin(yaw)",
        "expected[pose, 0, first + 3] = -np.sin(yaw)",
        "calibration/test_honesty.py",
    ),
    Mutant(
        "covariance of a gravity",
        f"{MATHS}calibration.py",
        "inverse @ reading.end_counts2 @ inverse.T",
        "inverse @ reading.end_counts2",
        "calibration/test_honesty.py calibration/test_efficiency.py calibration/test_temperature.py",
    ),
    Mutant(
        "covariance of a calibration, kept and read",
        f"{MATHS}calibration.py",
        "np.asarray(matrix + np.triu(matrix, 1).T)",
        "np.asarray(matrix)",
        "calibration/test_wrong_inputs.py calibration/test_properties.py",
    ),
    Mutant(
        "sign of the temperature coefficient",
        f"{MATHS}calibration.py",
        "self.bias_counts + self.tempco.counts_per_c *",
        "self.bias_counts - self.tempco.counts_per_c *",
        "calibration/test_temperature.py",
    ),
    Mutant(
        "reversal on the flat",
        f"{MATHS}datum.py",
        "mean_gravity((first[name], turned[name]))",
        "first[name]",
        "calibration/test_datum.py",
    ),
    Mutant(
        "subtraction of the datum",
        f"{MATHS}datum.py",
        "angle_from(self.gravity[sensor_id], now, calibration, hinge)",
        "angle_from(now, self.gravity[sensor_id], calibration, hinge)",
        "calibration/test_datum.py",
    ),
    Mutant(
        "ruler taken for height",
        f"{MATHS}travel.py",
        "lambda d: 2 * math.sin(d / 2)",
        "lambda d: math.sin(d)",
        "calibration/test_hinge.py",
    ),
    Mutant(
        "stillness before its time",
        f"{MATHS}still.py",
        "elif lasted_s >= self._needed_s:",
        "elif lasted_s >= 0:",
        "calibration/test_still.py",
    ),
    Mutant(
        "a silence taken for a movement",
        f"{MATHS}still.py",
        "if not self._noise.differs([*recent, *before]):",
        "if False:",
        "calibration/test_still.py",
    ),
    Mutant(
        "sign of MORE and LESS",
        f"{HOST}advice/verdict.py",
        "wanting if gap > 0 else beyond",
        "wanting if gap < 0 else beyond",
        "host/advice/test_verdict.py",
    ),
    Mutant(
        "WITHIN at the limit itself",
        f"{HOST}advice/verdict.py",
        "_ROUNDING) <= 0",
        "_ROUNDING) < 0",
        "host/advice/test_verdict.py",
    ),
    Mutant(
        "an uncertainty beyond the tolerance",
        f"{HOST}checks/judgement.py",
        "return reach <= self.verdict.tolerance or abs(self.verdict.gap) - reach > self.verdict.tolerance",
        "return True",
        "host/checks/test_judgement.py",
    ),
    Mutant(
        "a position on the former one's side",
        f"{HOST}checks/course.py",
        "left_deg * goal_deg < 0 < now_deg * was_deg",
        "left_deg * goal_deg < 0 > now_deg * was_deg",
        "host/checks/test_under_way.py",
    ),
    Mutant(
        "a throw downward",
        f"{HOST}advice/verdict.py",
        "copysign(1.0, target) * (target - measured)",
        "target - measured",
        "host/advice/test_verdict.py",
    ),
    Mutant(
        "the side that is to move",
        f"{HOST}advice/verdict.py",
        '"neutral", left - right, 0.0',
        '"neutral", right - left, 0.0',
        "host/advice/test_verdict.py",
    ),
    Mutant(
        "sides in the order of boards",
        f"{HOST}storage/sides.py",
        "if side in sides and side not in chosen and name in working",
        "if False and name in working",
        "host/storage/test_sides.py",
    ),
    Mutant(
        "inches",
        f"{HOST}units.py",
        "MM_PER_INCH = 25.4",
        "MM_PER_INCH = 2.54",
        "host/rig/test_quantities.py",
    ),
    Mutant(
        "spelling of a checksum, host",
        f"{HOST}device/link/decoder.py",
        'mark.rstrip(b"\\r\\n") != ',
        'mark.rstrip(b"\\r\\n").upper() != ',
        "host/device/link/test_decoder.py",
    ),
    Mutant(
        "checksum of a line, both ends",
        f"{PROTOCOL}line.py",
        'if raw[-9:] != b"*%08X" % crc32(body):',
        'if raw[-9:-8] != b"*":',
        "shared_protocol/test_both_ends.py shared_protocol/test_golden.py",
    ),
    Mutant(
        "unwrapping of ticks",
        f"{HOST}device/link/times.py",
        "step_us -= TICKS_PERIOD_US",
        "step_us -= 0",
        "host/device/link/test_clock.py",
    ),
    Mutant(
        "wraps in a silence",
        f"{HOST}device/link/times.py",
        "step_us += TICKS_PERIOD_US * round",
        "step_us += 0 * round",
        "host/device/link/test_clock.py",
    ),
    Mutant(
        "count of lost lines",
        f"{HOST}device/link/decoder.py",
        "self.counts.lost[sensor.sensor_id] += missing",
        "self.counts.lost[sensor.sensor_id] += 1",
        "host/device/link/test_decoder.py",
    ),
    Mutant(
        "a repeated line",
        f"{HOST}device/link/decoder.py",
        "if missing >= messages.SEQUENCE_PERIOD - REPEAT_LINES:",
        "if missing >= messages.SEQUENCE_PERIOD:",
        "host/device/link/test_decoder.py",
    ),
    Mutant(
        "a frozen sensor",
        f"{HOST}measure/capture.py",
        "if self.lost or self.frozen or self.moving:",
        "if self.lost or self.moving:",
        "host/measure/test_capture.py",
    ),
    Mutant(
        "what the model's motion is counted from",
        f"{HOST}measure/pipeline.py",
        "if self.fixed is None or self.fixed.reference is not None:",
        "if self.fixed is None:",
        "host/checks",
    ),
    Mutant(
        "a sensor upside down",
        f"{HOST}measure/pipeline.py",
        "if now.vector_g[2] < 0:",
        "if False:",
        "host/procedures/test_throws.py host/procedures/test_neutral.py",
    ),
    Mutant(
        "a reading taken back",
        f"{HOST}procedures/runner.py",
        "procedure = event.procedure",
        "_ = event.procedure",
        "host/procedures/test_runner.py host/procedures/test_throws.py",
    ),
    Mutant(
        "a key that a replay presses again",
        f"{HOST}procedures/runner.py",
        "if not is_recorded:",
        "if True:",
        "host/procedures/test_runner.py",
    ),
    Mutant(
        "a rest on the way to a position",
        f"{HOST}procedures/throws.py",
        "if not event.confirmed and is_first and not position.mix and is_part_way(position, now):",
        "if False:",
        "host/procedures/test_throws.py",
    ),
    Mutant(
        "words of an old neutral",
        f"{HOST}storage/old_words.py",
        'words = VERDICTS["neutral" if neutral else "throw"]',
        'words = VERDICTS["throw"]',
        "host/storage/test_old_words.py",
    ),
    Mutant(
        "checksum of what is kept",
        f"{HOST}storage/sealed.py",
        "sound = digest == _digest(content)",
        "sound = digest is not None",
        "host/storage/test_store.py",
    ),
    Mutant(
        "a torn record of a run",
        f"{HOST}storage/records.py",
        'if record.endswith(b"\\n"):',
        "if record:",
        "host/storage/test_recording.py",
    ),
    Mutant(
        "key of the page",
        f"{HOST}web/gate.py",
        "hmac.compare_digest(key.encode(), self.server.key.encode())",
        "len(key) == len(self.server.key)",
        "host/live/page/test_server.py",
    ),
    Mutant(
        "name of the page's host",
        f"{HOST}web/gate.py",
        'and self.headers.get("Host") == self.server.netloc',
        "",
        "host/live/page/test_server.py",
    ),
    Mutant(
        "key of a board",
        f"{BOARD}login.py",
        "proof == expected",
        "len(proof) == 32",
        "firmware/test_wifi.py::test_a_wrong_key_is_refused_and_hung_up",
    ),
    Mutant(
        "a proof that is used again",
        f"{BOARD}login.py",
        "expected, self._expected = self._expected, None",
        "expected = self._expected",
        "firmware/test_wifi.py::test_a_nonce_can_be_met_once",
    ),
    Mutant(
        "checksum of a board's file",
        f"{BOARD}store.py",
        "if raw == pack(generation, content) else",
        "if content else",
        "firmware/test_store.py",
    ),
    Mutant(
        "sign of a chip's number",
        f"{BOARD}registers.py",
        "return ((block[at] << 8 | block[at + 1]) ^ 0x8000) - 0x8000",
        "return block[at] << 8 | block[at + 1]",
        "firmware/test_chips.py",
    ),
)
