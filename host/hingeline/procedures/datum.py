"""Datum and drift check: all sensors on one flat, before measuring and after."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hingeline.measure.capture import Readings
from hingeline.procedures.procedure import Next, Procedure, Step, Taken
from hingeline.units import counted

HOLD_S = 2.0
"""Longer than for a reading: the noise of the datum is in every angle from it."""


@dataclass(frozen=True)
class LayDown(Procedure):
    """Sensors laid on one flat, and turned end for end on request.

    Attributes
    ----------
    sensors
        Their ids.
    reversal
        Whether they are turned, too.
    laid, turned
        The readings.
    """

    sensors: tuple[str, ...]
    reversal: bool = False
    laid: Readings | None = None
    turned: Readings | None = None

    @property
    def step(self) -> Step | None:
        """Lay them, then turn them."""
        if self.laid is None:
            sensors = counted(len(self.sensors), "sensor")
            ask = f"Lay {sensors} on one flat, edges parallel, arrows the same way; let go."
            return Step(ask, self.sensors, hold_s=HOLD_S)
        if not self.reversal or self.turned is not None:
            return None
        ask = "Turn each end for end on its spot, so that every arrow points the other way; let go."
        return Step(ask, self.sensors, hold_s=HOLD_S, all_moved=True)

    def after(self, event: Taken) -> Next[LayDown]:
        """Take the readings."""
        if self.laid is None:
            return Next(replace(self, laid=event.readings), taken="the first laying")
        return Next(replace(self, turned=event.readings), taken="the turned laying")
