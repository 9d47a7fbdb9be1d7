"""Results as plain values: what checks return, sessions record, `--json` prints and reports read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cache
from typing import Any, ClassVar

from pydantic import FiniteFloat, TypeAdapter

from hingeline.checks.positions import NEUTRAL, Place
from hingeline.checks.values import Angle, Interval, Judgement, Numbers, SettingChange, Step, Text, Unit, half
from hingeline.units import Side
from hingeline_calibration.hinge import HingeAxis

_DECIMALS = {"gap": 6, "direction": 9, "hinge": 9}
"""By key, to how many decimals numbers are written; 4 else."""


KINDS: dict[str, type[Any]] = {}
"""By the kind of an event, the result that it holds; the kind of a `CheckResult` is the name of its check."""


class Recorded:
    """A result that a session records as an event of its kind."""

    kind: ClassVar[str]

    def __init_subclass__(cls, kind: str) -> None:
        cls.kind = kind
        KINDS[kind] = cls


@dataclass(frozen=True)
class NeutralResult(Recorded, kind="neutral"):
    """One reading at neutral; the angles are about the hinge, from the datum or from the faired position.

    `moved_deg` is how far both sides have turned alike since the last reading, where that is more than noise: the model
    or the stick was moved.
    """

    surface: Text
    judgements: tuple[Judgement, ...]
    inside: bool = True
    moved_deg: FiniteFloat | None = None
    angles: dict[Side, Angle] = field(default_factory=dict)

    @property
    def place(self) -> Place:
        """Where it was taken."""
        return Place(self.surface, "", NEUTRAL)

    @property
    def position(self) -> str:
        """Words for it."""
        return NEUTRAL


@dataclass(frozen=True)
class ThrowResult(Recorded, kind="throw"):
    """One reading at a commanded position, or one back at neutral, which is commanded too; cycles count from 1.

    At neutral, `moved_deg` is how far both sides came back off alike, where that is more than noise: the model was
    moved.
    """

    surface: Text
    mode: Text
    command: Text
    judgements: tuple[Judgement, ...]
    inside: bool = True
    moved_deg: FiniteFloat | None = None
    cycle: int = 1

    @property
    def place(self) -> Place:
        """Where it was taken."""
        return Place(self.surface, self.mode, self.command)

    @property
    def position(self) -> str:
        """Words for it."""
        return f"{'back at neutral' if self.command == NEUTRAL else self.command} · {self.mode}"


@dataclass(frozen=True)
class Skipped(Recorded, kind="skipped"):
    """A position that was left out."""

    surface: Text
    mode: Text
    command: Text
    cycle: int = 1


@dataclass(frozen=True)
class LimitResult:
    """A value beside its limit, by the name of what was looked for, and where; all numbers in `unit`.

    The limit is how far the value may be from `expected`, where nothing is wrong; it is `close` where the limit is
    within the 95 % uncertainty of the value. Candidates are likely causes of what is beyond the limit, the likeliest
    first: no verdict.
    """

    name: Text
    value: FiniteFloat
    unit: Unit
    standard_uncertainty: FiniteFloat
    interval_95: Interval
    limit: FiniteFloat
    inside: bool
    expected: FiniteFloat = 0.0
    close: bool = False
    candidates: tuple[Text, ...] = ()

    @property
    def reach(self) -> float:
        """Half of the interval."""
        return half(self.interval_95)


@dataclass(frozen=True)
class CheckResult:
    """What a check came to: each value beside its limit, and notes on what else is to be known of it.

    `points_deg` are, by way and side, half, full and half stick again; `rests_deg`, by side and by what was done
    before, where it came to rest; `each_second_deg`, by side, the mean of each second while a position was held.
    """

    surface: Text
    check: Text
    results: tuple[LimitResult, ...]
    notes: tuple[Text, ...] = ()
    inside: bool = True
    left_out_percent: FiniteFloat | None = None
    opposed: bool | None = None
    travel_deg: dict[Side, Interval] = field(default_factory=dict)
    steps: tuple[Step, ...] = ()
    points_deg: dict[Text, dict[Side, Numbers]] = field(default_factory=dict)
    rests_deg: dict[Side, dict[Text, Numbers]] = field(default_factory=dict)
    each_second_deg: dict[Side, Numbers] = field(default_factory=dict)

    @classmethod
    def of(cls, check: str, results: Sequence[LimitResult], **parts: Any) -> CheckResult:
        """What a check came to, with further parts by the names of the fields; who records it names the surface."""
        return cls("", check, tuple(results), inside=all(result.inside for result in results), **parts)


@dataclass(frozen=True)
class SideDirection:
    """Which way one side went, and should."""

    deg: FiniteFloat
    went: Text
    expected: Text
    right_way: bool


@dataclass(frozen=True)
class DirectionResult(Recorded, kind="direction"):
    """Which way the sides of a surface went at a command; `call` is said aloud."""

    surface: Text
    command: Text
    sides: dict[Side, SideDirection]
    call: Text = ""
    candidates: tuple[Text, ...] = ()
    inside: bool = True


@dataclass(frozen=True)
class HingeResult(Recorded, kind="hinge"):
    """How a sensor sits on its hinge, which is turned by `yaw_deg` in the carrier frame.

    It is `beyond` where it sits surely more askew than it should, against the hinge that was used before; that one was
    turned by `used_yaw_deg` where it was found, too.
    """

    surface: Text
    side: Side
    sensor_id: Text
    yaw_deg: FiniteFloat
    beyond: bool
    axis: HingeAxis
    used_yaw_deg: FiniteFloat | None = None

    @property
    def is_news(self) -> bool:
        """Whether a neutral that was measured before is void: no hinge was known, or another one."""
        return self.used_yaw_deg is None or self.beyond


@dataclass(frozen=True)
class Seat:
    """The sensor on one side, and the hinge in its frame."""

    sensor: Text
    hinge: tuple[FiniteFloat, FiniteFloat, FiniteFloat]


@dataclass(frozen=True)
class SidesResult(Recorded, kind="sides"):
    """Which sensor sits where from here on; `fixed` is the one on a fixed part."""

    surface: Text
    sides: dict[Side, Seat]
    fixed: Text = ""


@dataclass(frozen=True)
class Caution(Recorded, kind="caution"):
    """What a user should know before trusting a reading."""

    text: Text


@dataclass(frozen=True)
class DriftCheck(Recorded, kind="drift check"):
    """How far sensors had gone when they were laid on the flat of a datum again, and whether that datum holds."""

    drift_deg: dict[Text, FiniteFloat]
    date: Text = ""
    holds: bool = True


def surfaces_void(results: Iterable[Any]) -> frozenset[str]:
    """Surfaces whose last neutral is void: where the hinge runs in their sensors was found only after it."""
    void: set[str] = set()
    read: set[str] = set()
    for result in results:
        if isinstance(result, NeutralResult):
            read.add(result.surface)
            void.discard(result.surface)
        elif isinstance(result, HingeResult) and result.is_news and result.surface in read:
            void.add(result.surface)
    return frozenset(void)


@dataclass(frozen=True)
class SettingSheet(Recorded, kind="settings"):
    """What to turn on a surface, from all its throws: `now_percent` by name where it is known, else 100 %.

    No setting brings what is `remaining` within the tolerance; `unread` are throws without a valid reading.
    """

    surface: Text
    changes: tuple[SettingChange, ...] = ()
    now_percent: dict[Text, FiniteFloat] = field(default_factory=dict)
    remaining: tuple[Text, ...] = ()
    unread: tuple[Text, ...] = ()


Reading = NeutralResult | ThrowResult
Measured = NeutralResult | ThrowResult | CheckResult | DirectionResult
Result = Measured | Skipped | HingeResult | SidesResult | Caution | DriftCheck | SettingSheet


def kind_of(result: Result) -> str:
    """The kind of event that a result is recorded as."""
    return result.check if isinstance(result, CheckResult) else result.kind


def form_of(kind: str, fields: Mapping[str, Any]) -> type[Any] | None:
    """What an event holds, by its kind and its fields; None where it is no result."""
    return KINDS.get(kind) or (CheckResult if fields.get("check") == kind else None)


def write_result(result: Any, key: str = "") -> Any:
    """Write a result, or any value within one, as plain values for JSON, rounded."""
    if is_dataclass(result):
        return {each.name: write_result(getattr(result, each.name), each.name) for each in fields(result)}
    if isinstance(result, Mapping):
        return {str(name): write_result(value, key) for name, value in result.items()}
    if isinstance(result, tuple | list):
        return [write_result(value, key) for value in result]
    return round(result, _DECIMALS.get(key, 4)) if isinstance(result, float) else result


def read_result(form: Any, fields: Mapping[str, Any]) -> Result:
    """Read a result of the form that `form_of` tells; what is in the fields besides is left out.

    Raises `pydantic.ValidationError` where parts are missing or not as expected.
    """
    result: Result = _adapter(form).validate_python(fields)
    return result


@cache
def _adapter(form: Any) -> TypeAdapter[Any]:
    return TypeAdapter(form)
