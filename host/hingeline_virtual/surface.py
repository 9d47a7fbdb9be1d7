"""How a surface moves: a servo of finite rate, a springy linkage that rings, and play."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hingeline_virtual.scenario import Surface

FORGET_S = 1.0
"""A movement is kept so long after its end, for boards whose clock is behind the scene's."""

_STILL_DEG = 5e-4
"""A ringing smaller than this is over."""


@dataclass(frozen=True)
class Ramp:
    """A change of `by_deg` that begins at `start_s` and lasts `over_s`."""

    start_s: float
    over_s: float
    by_deg: float


class Linkage:
    """A servo and linkage, answering ramps as a damped second-order system: linear, so ramps add up.

    Unit ramp response r(t) = t - 2ζ/ω + exp(-ζωt) sin(ω't + 2 acos ζ)/ω', with ω' = ω √(1 - ζ²)
    (K. Ogata, Modern Control Engineering: second-order systems).
    """

    def __init__(self, rate_deg_s: float, ringing_hz: float, damping: float, angle_deg: float) -> None:
        self._rate_deg_s = rate_deg_s
        self._damping = damping
        self._omega = 2 * math.pi * ringing_hz
        self._ringing = self._omega * math.sqrt(1 - damping**2)
        self._ramps: list[Ramp] = []
        self._start_deg = angle_deg
        self.target_deg = angle_deg

    def move(self, start_s: float, target_deg: float, over_s: float | None = None, stands_s: float = 0.0) -> None:
        """Stand for `stands_s`, then go to `target_deg`, in `over_s` or at the servo's rate."""
        for ramp in [ramp for ramp in self._ramps if self._end_s(ramp) < start_s - FORGET_S]:
            self._ramps.remove(ramp)
            self._start_deg += ramp.by_deg
        by_deg = target_deg - self.target_deg
        if by_deg:
            moves_s = over_s or max(0.02, abs(by_deg) / self._rate_deg_s)
            self._ramps.append(Ramp(start_s + stands_s, moves_s, by_deg))
            self.target_deg = target_deg

    @property
    def settled_s(self) -> float:
        """Scene time from which nothing rings any more."""
        return max((self._end_s(ramp) for ramp in self._ramps), default=-math.inf)

    def _end_s(self, ramp: Ramp) -> float:
        amplitude = 2 * abs(ramp.by_deg) / ramp.over_s / self._ringing
        decay_s = math.log(max(amplitude / _STILL_DEG, 1.0)) / (self._damping * self._omega)
        return ramp.start_s + ramp.over_s + decay_s

    def state(self, time_s: float) -> tuple[float, float, float]:
        """Angle in deg, its rate in deg/s and its acceleration in deg/s² at a scene time."""
        angle, rate, acceleration = self._start_deg, 0.0, 0.0
        for ramp in self._ramps:
            if time_s >= self._end_s(ramp):
                angle += ramp.by_deg
            elif time_s > ramp.start_s:
                begun = self._response(time_s - ramp.start_s)
                ended = self._response(time_s - ramp.start_s - ramp.over_s)
                slope = ramp.by_deg / ramp.over_s
                angle += slope * (begun[0] - ended[0])
                rate += slope * (begun[1] - ended[1])
                acceleration += slope * (begun[2] - ended[2])
        return angle, rate, acceleration

    def _response(self, t: float) -> tuple[float, float, float]:
        """Unit ramp response with its first two derivatives."""
        if t <= 0:
            return 0.0, 0.0, 0.0
        zeta, omega, ringing = self._damping, self._omega, self._ringing
        decay = math.exp(-zeta * omega * t)
        sine, cosine = math.sin(ringing * t), math.cos(ringing * t)
        root = ringing / omega
        return (
            t - 2 * zeta / omega + decay * math.sin(ringing * t + 2 * math.acos(zeta)) / ringing,
            1 - decay * (cosine + zeta / root * sine),
            decay * sine * omega / root,
        )


class SurfaceState:
    """One surface: neutral, deflection and where it rests in its play."""

    def __init__(self, settings: Surface) -> None:
        self.settings = settings
        self.neutral_deg = settings.neutral_deg
        self.deflection_deg = 0.0
        self.positions = {"neutral": 0.0, **settings.positions}
        self._position: str | None = "neutral"
        self._offset_deg = 0.0
        self._bend_deg = 0.0
        self.linkage = Linkage(settings.rate_deg_s, settings.ringing_hz, settings.damping, settings.neutral_deg)

    def deflect(self, at_s: float, deflection_deg: float, over_s: float | None = None) -> None:
        """Command a deflection from neutral: the surface stands until its play is taken up, then follows."""
        self._position = None
        self._go(at_s, deflection_deg, over_s)

    def stick(self, at_s: float, position: str, over_s: float | None) -> None:
        """Command a named position."""
        self._go(at_s, self.positions[position], over_s)
        self._position = position

    def adjust(self, at_s: float, neutral_by_deg: float, positions: dict[str, float]) -> None:
        """Change neutral and named positions; where the stick holds one of these, the surface follows."""
        self.neutral_deg += neutral_by_deg
        self.positions.update(positions)
        held = self.deflection_deg if self._position is None else self.positions[self._position]
        self._go(at_s, held, None)

    def push(self, at_s: float, toward: int) -> None:
        """Push up (1) or down (-1), or let go (0): friction holds it where the play ends."""
        if toward:
            self._offset_deg = toward * self.settings.play_deg / 2
        self._bend_deg = toward * self.settings.compliance_deg
        self._move(at_s, None)

    def _go(self, at_s: float, deflection_deg: float, over_s: float | None) -> None:
        before = self.linkage.target_deg - self._offset_deg - self._bend_deg
        change = self.neutral_deg + deflection_deg - before
        way = math.copysign(1.0, change)
        taken_up = min(abs(change), self.settings.play_deg / 2 + way * self._offset_deg)
        self._offset_deg -= way * taken_up
        self.deflection_deg = deflection_deg
        lasts_s = over_s or abs(change) / self.settings.rate_deg_s
        stands_s = lasts_s * taken_up / abs(change) if change else 0.0
        self._move(at_s, over_s and over_s - stands_s, stands_s)

    def _move(self, at_s: float, over_s: float | None, stands_s: float = 0.0) -> None:
        target = self.neutral_deg + self.deflection_deg + self._offset_deg + self._bend_deg
        self.linkage.move(at_s, target, over_s, stands_s)

    def truth_now(self, time_s: float) -> dict[str, float | str]:
        """The true angle about the hinge, the neutral, and the deflection between them, for JSON."""
        angle_deg = self.linkage.state(time_s)[0]
        return {
            "surface": self.settings.name,
            "angle_deg": angle_deg,
            "neutral_deg": self.neutral_deg,
            "deflection_deg": angle_deg - self.neutral_deg,
            "commanded_deg": self.deflection_deg,
        }
