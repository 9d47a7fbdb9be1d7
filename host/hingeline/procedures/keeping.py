"""Calibrations that a run has made, kept on this computer and on the board."""

from __future__ import annotations

from collections.abc import Iterable

from hingeline.device.link.fleet import Fleet
from hingeline.errors import StoreError
from hingeline.procedures.runner import Runner
from hingeline.storage.calibrations import keep_calibration
from hingeline_calibration.acceptance import refuse_poor
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError


def keep(runner: Runner, calibration: Calibration) -> str:
    """Keep a calibration and say where; what forbids it ends the command after everything else was shown."""
    assert isinstance(runner.source, Fleet)
    try:
        return keep_calibration(runner.store, runner.source, calibration)
    except StoreError as problem:
        runner.talk.owe(problem)
        return f"not kept on this computer: {problem.message}"


def keep_good(
    runner: Runner, results: Iterable[Calibration | CalibrationError], accept: bool
) -> tuple[list[tuple[Calibration, str]], list[CalibrationError]]:
    """Keep good calibrations, or with `accept` poor ones too: each with its place, and why others are refused."""
    kept, refused = [], []
    for result in results:
        try:
            if isinstance(result, CalibrationError):
                raise result
            if not accept:
                refuse_poor(result.poor)
        except CalibrationError as problem:
            refused.append(problem)
        else:
            kept.append((result, keep(runner, result)))
            runner.record("calibration", sensor_id=result.sensor_id, poor=list(result.poor))
    return kept, refused
