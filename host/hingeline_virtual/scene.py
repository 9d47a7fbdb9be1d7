"""The scene behind the chips: table, hands, aircraft, room. Commands change it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any
from zlib import crc32

import numpy as np

from hingeline.errors import ScenarioError
from hingeline_virtual import commands
from hingeline_virtual.aircraft import Taped, body_rotation, mounting
from hingeline_virtual.carrier import (
    UP,
    Carried,
    Floats,
    InHand,
    Pose,
    Resting,
    Shaking,
    Turned,
    on_face,
    with_up,
)
from hingeline_virtual.rotation import Rotation
from hingeline_virtual.scenario import Scenario
from hingeline_virtual.surface import FORGET_S, SurfaceState

_BODY_TURN_S = 1.0
_KNOCK_S = 0.2


def names(wanted: str | list[str], known: Mapping[str, object], kind: str) -> list[str]:
    """List the names that are wanted; `all` means all that are known.

    Raises
    ------
    ScenarioError
        One of them is not known.
    """
    all_wanted = list(known) if wanted == commands.ALL else [wanted] if isinstance(wanted, str) else wanted
    for name in all_wanted:
        if name not in known:
            raise ScenarioError(
                f"there is no {kind} `{name}`",
                f"Name one of: {', '.join(known)}" if known else f"Add a {kind}",
            )
    return all_wanted


@dataclass
class _Carrier:
    pose: Pose
    place: dict[str, Any]
    moves: int = 0
    still_force_g: Floats | None = None
    still_since_s: float = field(default=math.inf)


class Scene:
    """The true state, as a function of scene time.

    Every sensor begins lying on the table on its base. Commands must be given in the order of their times.
    """

    def __init__(self, scenario: Scenario) -> None:
        self._scenario = scenario
        table = scenario.table
        falls = math.radians(table.direction_deg)
        axis = math.radians(table.tilt_deg) * np.array([-math.sin(falls), math.cos(falls), 0.0])
        self._table = Rotation.from_rotvec(axis)
        self._body = Turned(Resting(Rotation.identity()), Rotation.identity())
        self.surfaces = {surface.name: SurfaceState(surface) for surface in scenario.surfaces}
        self._ambient: list[tuple[float, float]] = [(-math.inf, scenario.room.ambient_c)]
        self._carriers: dict[str, _Carrier] = {}
        for name in scenario.sensors:
            pose = Resting(self._placed(name, 0, "+z", 0.0, 0.0))
            self._carriers[name] = _Carrier(pose, {"on": "table", "face": "+z", "yaw_deg": 0.0})
        self._actions: dict[type, Callable[[Any, float], float]] = {
            commands.Place: self._place,
            commands.Lean: self._lean,
            commands.Hold: self._hold,
            commands.Tape: self._tape,
            commands.Knock: self._knock,
            commands.Deflect: self._deflect,
            commands.Stick: self._stick,
            commands.Adjust: self._adjust,
            commands.Push: self._push,
            commands.Attitude: self._attitude,
            commands.Warm: self._warm,
            commands.Wait: lambda command, at_s: float(at_s + command.for_s),
            commands.Truth: lambda command, at_s: at_s,
        }

    def do(self, command: commands.Command, at_s: float) -> float:
        """Carry out a command from a scene time on; gives the time when all has settled.

        Raises
        ------
        ScenarioError
            The command names something that the scenario does not have.
        """
        settled_s = self._actions[type(command)](command, at_s)
        for carrier in self._carriers.values():
            carrier.still_force_g = None
        return settled_s

    def force_g(self, sensor: str, time_s: float) -> Floats:
        """The specific force (3,) in g, carrier frame: the reading of a perfect accelerometer."""
        carrier = self._carriers[sensor]
        if carrier.still_force_g is not None and time_s >= carrier.still_since_s:
            return carrier.still_force_g
        pose = carrier.pose
        force_g: Floats = pose.rotation(time_s).inv().apply(UP + pose.acceleration_g(time_s))
        if time_s >= pose.settled_s():
            carrier.still_force_g, carrier.still_since_s = force_g, time_s
        return force_g

    def temperature_c(self, sensor: str, time_s: float) -> float:
        """The temperature of a chip, which follows the room with a lag."""
        lag_s = self._scenario.room.warming_s
        temperature_c = self._scenario.sensors[sensor].self_heating_c * -math.expm1(-max(time_s, 0.0) / lag_s)
        before_c = 0.0
        for since_s, ambient_c in self._ambient:
            if time_s > since_s:
                temperature_c -= (ambient_c - before_c) * math.expm1(-(time_s - since_s) / lag_s)
                before_c = ambient_c
        return temperature_c

    def truth(self, time_s: float) -> dict[str, Any]:
        """The true state at a scene time, ready for JSON."""
        return {
            "sensors": [self._sensor_truth(name, time_s) for name in self._carriers],
            "surfaces": [surface.truth_now(time_s) for surface in self.surfaces.values()],
            "table": self._scenario.table.model_dump(),
        }

    def _sensor_truth(self, name: str, time_s: float) -> dict[str, Any]:
        up = self._carriers[name].pose.rotation(time_s).inv().apply(UP)
        return {
            "sensor": name,
            **self._carriers[name].place,
            "up": [float(part) for part in up],
            "temperature_c": self.temperature_c(name, time_s),
        }

    def _random(self, sensor: str, purpose: str, count: int) -> np.random.Generator:
        key = crc32(f"{sensor} {purpose}".encode())
        return np.random.default_rng([self._scenario.seed, key, count])

    def _placed(self, name: str, count: int, face: commands.Face, yaw_deg: float, incline_deg: float) -> Rotation:
        hands = self._scenario.hands
        random = self._random(name, "placement", count)
        scatter = np.radians(random.normal(0.0, [hands.placement_scatter_deg] * 2 + [hands.yaw_scatter_deg]))
        level = on_face(face, self._scenario.sensors[name].square_deg.get(face, (0.0, 0.0)))
        turned = Rotation.from_euler("Z", yaw_deg, degrees=True) * Rotation.from_rotvec(scatter)
        return self._table * turned * level * Rotation.from_euler("X", incline_deg, degrees=True)

    def _carry(self, name: str, at_s: float, pose: Pose, place: dict[str, Any]) -> float:
        carrier = self._carriers[name]
        before = carrier.pose
        if isinstance(before, Carried) and before.start_s + before.over_s < at_s - FORGET_S:
            before = before.after
        over_s = self._scenario.hands.transit_s
        shaking = Shaking(self._random(name, "hand", carrier.moves))
        carrier.pose = Carried(before, pose, at_s, over_s, shaking)
        carrier.place = place
        return at_s + over_s

    def _knock(self, command: commands.Knock, at_s: float) -> float:
        slip = Rotation.from_rotvec(command.slip_deg, degrees=True)
        for name in names(command.sensor, self._carriers, "sensor"):
            carrier = self._carriers[name]
            carrier.moves += 1
            shaking = Shaking(self._random(name, "knock", carrier.moves))
            carrier.pose = Carried(carrier.pose, Turned(carrier.pose, slip), at_s, _KNOCK_S, shaking)
        return at_s + _KNOCK_S

    def _place(self, command: commands.Place, at_s: float) -> float:
        for name in names(command.sensor, self._carriers, "sensor"):
            self._carriers[name].moves += 1
            rotation = self._placed(
                name, self._carriers[name].moves, command.face, command.yaw_deg, command.incline_deg
            )
            place = {"on": "table", **command.model_dump(include={"face", "yaw_deg", "incline_deg"})}
            self._carry(name, at_s, Resting(rotation), place)
        return at_s + self._scenario.hands.transit_s

    def _lean(self, command: commands.Lean, at_s: float) -> float:
        for name in names(command.sensor, self._carriers, "sensor"):
            self._carriers[name].moves += 1
            pose = Resting(with_up(np.array(command.up)))
            self._carry(name, at_s, pose, {"on": "table", "leaned": True})
        return at_s + self._scenario.hands.transit_s

    def _hold(self, command: commands.Hold, at_s: float) -> float:
        for name in names(command.sensor, self._carriers, "sensor"):
            carrier = self._carriers[name]
            carrier.moves += 1
            shaking = Shaking(self._random(name, "hold", carrier.moves))
            self._carry(name, at_s, InHand(carrier.pose.rotation(at_s), shaking), {"on": "hand"})
        return at_s + self._scenario.hands.transit_s

    def _tape(self, command: commands.Tape, at_s: float) -> float:
        (surface_name,) = names([command.surface], self.surfaces, "surface")
        surface = self.surfaces[surface_name]
        yaw_deg = surface.settings.mounting_yaw_deg if command.yaw_deg is None else command.yaw_deg
        for name in names(command.sensor, self._carriers, "sensor"):
            carrier = self._carriers[name]
            carrier.moves += 1
            scatter_deg = self._scenario.hands.tape_scatter_deg
            scatter = self._random(name, "tape", carrier.moves).normal(0.0, scatter_deg, 3)
            mount = mounting(surface.settings, yaw_deg, command.upside_down) * Rotation.from_rotvec(
                scatter, degrees=True
            )
            self._carry(name, at_s, Taped(self._body, surface, mount), {"on": surface_name})
        return max(at_s + self._scenario.hands.transit_s, surface.linkage.settled_s)

    def _deflect(self, command: commands.Deflect, at_s: float) -> float:
        for name in names(command.surface, self.surfaces, "surface"):
            self.surfaces[name].deflect(at_s, command.deflection_deg, command.over_s)
        return self._surfaces_settled(at_s)

    def _stick(self, command: commands.Stick, at_s: float) -> float:
        having = [s for s in self.surfaces.values() if command.position in s.positions]
        if not having:
            known = sorted({position for s in self.surfaces.values() for position in s.positions})
            raise ScenarioError(f"no surface has a position `{command.position}`", f"Name one of: {', '.join(known)}")
        for surface in having:
            surface.stick(at_s, command.position, command.over_s)
        return self._surfaces_settled(at_s)

    def _adjust(self, command: commands.Adjust, at_s: float) -> float:
        (name,) = names([command.surface], self.surfaces, "surface")
        self.surfaces[name].adjust(at_s, command.neutral_by_deg, command.positions)
        return self._surfaces_settled(at_s)

    def _push(self, command: commands.Push, at_s: float) -> float:
        (name,) = names([command.surface], self.surfaces, "surface")
        self.surfaces[name].push(at_s, {"up": 1, "down": -1, "free": 0}[command.toward])
        return self._surfaces_settled(at_s)

    def _surfaces_settled(self, at_s: float) -> float:
        return max([at_s, *(surface.linkage.settled_s for surface in self.surfaces.values())])

    def _attitude(self, command: commands.Attitude, at_s: float) -> float:
        after = Resting(body_rotation(command.roll_deg, command.pitch_deg, command.heading_deg))
        shaking = Shaking(self._random("aircraft", "hand", round(at_s * 1e6)))
        before = self._body.pose
        if isinstance(before, Carried) and before.settled_s() < at_s - FORGET_S:
            before = before.after
        self._body.pose = Carried(before, after, at_s, _BODY_TURN_S, shaking)
        return at_s + _BODY_TURN_S

    def _warm(self, command: commands.Warm, at_s: float) -> float:
        self._ambient.append((at_s, command.ambient_c))
        return at_s
