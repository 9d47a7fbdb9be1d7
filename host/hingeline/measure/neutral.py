"""A surface from its neutral: how far each side is deflected in a reading, and along its track while it moves."""

from __future__ import annotations

from dataclasses import dataclass, field

from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Track, Tracks, track
from hingeline.units import Side
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection

_LEAST_LINES = 2


@dataclass(frozen=True, eq=False)
class NeutralReading:
    """The instruments of a surface, one a side, and their readings at neutral: deflections and motion count from there.

    Raises `HingeVertical` and `NotMeasurable` as `Instrument.at_neutral`.
    """

    instruments: tuple[Instrument, ...]
    readings: Readings
    gravity: dict[Side, Gravity] = field(init=False)

    def __post_init__(self) -> None:
        instruments = tuple(instrument.referenced(self.readings) for instrument in self.instruments)
        object.__setattr__(self, "instruments", instruments)
        object.__setattr__(self, "gravity", {each.side: each.at_neutral(self.readings) for each in instruments})

    def gravities(self, readings: Readings) -> dict[Side, Gravity]:
        """By side, as `Instrument.gravity`."""
        return {instrument.side: instrument.gravity(readings) for instrument in self.instruments}

    def deflections(self, readings: Readings) -> dict[Side, Deflection]:
        """By side, from neutral. Raises `HingeVertical`."""
        return {
            each.side: each.deflection(self.gravity[each.side], each.gravity(readings)) for each in self.instruments
        }

    def track(self, instrument: Instrument, tracks: Tracks) -> Track:
        """The track of an instrument; `has_tracks` tells whether there is one."""
        return track(instrument, self.readings[instrument.sensor_id], tracks[instrument.sensor_id])

    def has_tracks(self, tracks: Tracks) -> bool:
        """Whether every instrument has lines enough for a track: a key may end a step before they come."""
        return all(len(tracks.get(instrument.sensor_id, ())) >= _LEAST_LINES for instrument in self.instruments)
