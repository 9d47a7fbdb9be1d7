"""Sensors that were calibrated, for what is measured of a host."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.calibration import simulate as sim

from hingeline.rig.kinds import BOTH
from hingeline.storage.sides import save_sides
from hingeline.storage.store import Store
from hingeline_calibration.calibration import Calibration


def calibration(sensor_id: str) -> Calibration:
    """Return the calibration of a sensor that lies on its base where it shows its nominal counts, nearly."""
    rng = np.random.default_rng(1)
    benches = sim.draw(rng, 1)
    return replace(sim.calibrated(benches, sim.poses_of(benches, rng, sim.TWELVE)[0]), sensor_id=sensor_id)


def keep(home: Path, sensor_ids: Sequence[str]) -> None:
    """Keep the calibrations of sensors, the first two being left and right."""
    store = Store(home)
    for sensor_id in sensor_ids:
        store.save("calibration", sensor_id, calibration(sensor_id).to_dict())
    save_sides(store, dict(zip(BOTH, sensor_ids, strict=False)))
