"""Throws: from neutral to each position of the rigging sheet, mode by mode."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from textwrap import indent

from hingeline.advice.verdict import NO_VERDICT
from hingeline.checks.judgement import Moment, Passing, passing
from hingeline.checks.positions import NEUTRAL, Position
from hingeline.checks.recognition import Recognition, is_part_way
from hingeline.checks.results import Skipped, ThrowResult
from hingeline.checks.throws import STANDING_S, ThrowsCheck
from hingeline.checks.values import Judgement
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.procedures.procedure import Message, Next, Step, Taken
from hingeline.procedures.surface import SurfaceProcedure
from hingeline.procedures.words import brief_text, judgement_text, moved_text
from hingeline.units import Side
from hingeline_calibration.hinge import Deflection

Stop = tuple[Position, int]
"""A position that is held, and in which cycle."""
PATIENCE_S = 900.0
"""Between two throws a linkage is looked at, or an end point is set; common practice, no source."""

NEUTRAL_DEG = 1.0
"""A surface as near to its neutral as this has not left it; common practice, no source."""


@dataclass(frozen=True)
class Throws(SurfaceProcedure):
    """The throws of one surface: the positions of each mode, gone through so many `cycles`.

    A position stays once it is read, and is read again each time the surface rests there, while its end points are
    turned: leaving it goes on. Any position is recognised, in whichever order; one left out is asked for at the end.

    `check` is as far as it was read, from neutral; `to_do` are the positions still to be held, with their cycles,
    `held` is the one where the surface stands since it was read. `since` are the readings since the `base`, the check
    at neutral: where it comes back off, they are judged again. `readings` and `left_out` are in their order.
    """

    cycles: int = 1
    now_percent: Mapping[str, float] = field(default_factory=dict)
    check: ThrowsCheck | None = None
    to_do: tuple[Stop, ...] = ()
    held: Stop | None = None
    base: ThrowsCheck | None = None
    since: tuple[tuple[Stop, Readings], ...] = ()
    readings: tuple[ThrowResult, ...] = ()
    left_out: tuple[Skipped, ...] = ()
    is_right_way: bool = False
    asked_about: Position | None = None
    again: tuple[Stop, ...] = ()

    @property
    def position(self) -> Position | None:
        """What is to be held next; None before the neutral and at the end."""
        return self.to_do[0][0] if self.to_do else None

    def next_step(self, neutral: NeutralReading) -> Step | None:
        """Each position; meanwhile the one that was read last may be corrected."""
        position = self.position
        if self.check is None or position is None:
            return None
        way = "all the way, and hold" if position.targets else "sticks centred, hands off"
        standing_s = STANDING_S if position == self.asked_about else None
        if self.check.looks_as_before(position):
            standing_s = STANDING_S
            way = f"and hold: it stays where it is, and is taken after {STANDING_S:.0f} s"
        ask = f"{self._correct()}{position.name}, {way}."
        return self.wait(ask, patience_s=PATIENCE_S, standing_s=standing_s)

    def _correct(self) -> str:
        """What comes before the next position, where the one that is held is to be corrected."""
        if self.held is None or not self.held[0].targets:
            return ""
        if all(each.inside or each.verdict == NO_VERDICT for each in self.readings[-1].judgements):
            return ""
        return f"correct {self.held[0].name} while you hold it; then "

    def at_neutral(self, event: Taken) -> Next[Throws]:
        """Take the neutral, and say so."""
        taken = self.from_neutral(NeutralReading(self.instruments, event.readings))
        return Next(taken, taken="neutral", messages=(Message("Neutral taken."),))

    def from_neutral(self, neutral: NeutralReading) -> Throws:
        """The same from a neutral that was read before: by now the stick may be at an end."""
        check = ThrowsCheck(self.sheet, self.surface, neutral, self.now_percent)
        return replace(self, neutral=neutral, check=check, base=check, to_do=tuple(check.stops(self.cycles)))

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[Throws]:
        """Judge a reading at the position that it is, unless the surface is at none yet."""
        stop = self._stop(event)
        if stop is None:
            is_told = bool(self.readings) or not _is_at_neutral(neutral.deflections(event.readings))
            return Next(self, messages=(_not_there(self.to_do[0][0]),) if is_told else ())
        assert self.check is not None
        position, now = stop[0], self.check.neutral.deflections(event.readings)
        is_first = stop != self.held and position != self.asked_about
        if not event.confirmed and is_first and not position.mix and is_part_way(position, now):
            return Next(replace(self, asked_about=position), messages=(_part_way(position, now),))
        check, reading = self.check.read(position, event.readings, stop[1])
        since = (*((each, taken) for each, taken in self.since if each != stop), (stop, event.readings))
        to_come = [each for each, _ in self.to_do]
        stale = tuple((each, stop[1]) for each in check.stale if each not in to_come)
        following = replace(
            self,
            check=check,
            to_do=(*self._without(stop), *stale),
            held=stop,
            since=since,
            readings=(*self.readings, reading),
            is_right_way=self.is_right_way or _is_right_way(position, now),
            asked_about=None,
        )
        if position.command == NEUTRAL:
            return _after_neutral(following, stop, event.readings, reading)
        text = "is asked for again at the end: it may have changed with what was turned."
        messages = (self._verdict(stop, reading), *(Message(f"{each.name} {text}") for each, _ in stale))
        return Next(following, taken=self._name(stop), messages=messages, results=(reading,))

    def _stop(self, event: Taken) -> Stop | None:
        """The position that a rest is, with its cycle; a key takes the one that is asked for, wherever it is."""
        asked, (now, cycle) = self._recognition(), self.to_do[0]
        is_held = self.held is not None and asked.is_followed(asked.check.neutral.deflections(event.readings))
        if event.confirmed and not (is_held and event.moved):
            return now, cycle
        if not event.moved and is_held and asked.check.looks_as_before(now):
            return now, cycle
        position = asked.position(event.readings)
        if self.held is not None and position is self.held[0] and is_held:
            return self.held
        return None if position is None else (position, cycle)

    def _without(self, stop: Stop) -> tuple[Stop, ...]:
        """What is still to be held after this; the last is always neutral."""
        to_do = tuple(each for each in self.to_do if each != stop)
        return to_do or ((replace(stop[0], command=NEUTRAL, targets={}, mix=""), stop[1]),) * bool(stop[0].targets)

    def _recognition(self) -> Recognition:
        assert self.check is not None
        asked, cycle = self.to_do[0]
        others = tuple(position for position, number in self.to_do[1:] if number == cycle)
        return Recognition(self.check, asked, self.held[0] if self.held else None, others, self.is_right_way)

    def _name(self, stop: Stop) -> str:
        return stop[0].name + (f", cycle {stop[1]}" if self.cycles > 1 else "")

    def _verdict(self, stop: Stop, reading: ThrowResult) -> Message:
        title = f"{self.surface}, {self._name(stop)}"
        return Message(_text(title, reading, judgement_text), _text(title, reading, brief_text), is_data=True)

    def skipped(self) -> Next[Throws] | None:
        """Leave a position out, which is recorded; it is asked for once more at the end."""
        if self.check is None or not self.to_do:
            return None
        stop, *others = self.to_do
        position, cycle = stop
        skipped = Skipped(self.surface, position.mode, position.command, cycle)
        is_first = skipped not in self.left_out and position.targets and others
        to_do = (*others, stop) if is_first else tuple(others)
        return Next(
            replace(self, to_do=to_do, left_out=(*self.left_out, skipped), asked_about=None),
            taken=f"leaving out {position.name}",
            messages=(Message(f"Left out: {position.name}."),),
            results=(skipped,),
        )

    def judge(self, readings: Readings) -> tuple[Moment | Passing, ...]:
        """Where each side is beside the target of the position that it is at; on its way, where it is alone."""
        if self.check is None or not self.to_do:
            return ()
        position = self._recognition().position(readings)
        if position is None or not position.targets:
            return passing(self.sheet, self.surface, self.check.neutral, readings)
        return self.check.moments(position, readings)


def _after_neutral(throws: Throws, stop: Stop, readings: Readings, back: ThrowResult) -> Next[Throws]:
    """What follows a reading back at neutral: where it came back off, the throws since are judged again.

    Those without a verdict then are asked for again, once, from the neutral as it is now.
    """
    assert throws.check is not None
    assert throws.base is not None
    title, check = throws._verdict(stop, back), throws.check
    taken = throws._name(stop)
    off = replace(throws.base, off_deg=check.off_deg, moved=_moved(back))
    last = {(each.mode, each.command, each.cycle): each for each in throws.readings}
    results, lost = [], []
    if check.off_deg or off.moved:
        for each, former in throws.since[:-1]:
            off, result = off.read(each[0], former, each[1])
            results.append(result)
            if _known(result) < _known(last[result.mode, result.command, result.cycle]):
                lost.append(each)
        check = check.judged_again(off)
    again = tuple(each for each in lost if each not in throws.again)
    messages = [title]
    if lost:
        messages.append(Message(_void_text(lost, again)))
    if again:
        neutral = NeutralReading(throws.instruments, readings)
        check = check.from_neutral(neutral, [position for position, _ in again])
        throws = replace(throws, neutral=neutral, to_do=(*again, stop, *throws.to_do), again=(*throws.again, *again))
    judged = (*throws.readings[:-1], *results, back)
    following = replace(throws, check=check, base=check, since=(), readings=judged)
    return Next(following, taken=taken, messages=tuple(messages), results=(*results, back))


def _known(reading: ThrowResult) -> int:
    """How many of its judgements are a verdict."""
    return sum(judgement.verdict != NO_VERDICT for judgement in reading.judgements)


def _moved(back: ThrowResult) -> Doubt | None:
    """Why the throws before a reading at neutral have no verdict, where the model was moved."""
    if back.moved_deg is None:
        return None
    reason = f"both sides came back to neutral {abs(back.moved_deg):.1f}° off alike: the model was moved, or the stick"
    return Doubt(reason, "support the model firmly, then measure again")


def _void_text(lost: Sequence[Stop], again: Sequence[Stop]) -> str:
    names = ", ".join(position.name for position, _ in lost)
    cure = "They are asked for again, from this neutral." if again else "Look for play, and for a sensor that slips."
    return f"NO VERDICT any more, as it came back off neutral: {names}. {cure}"


def _is_right_way(position: Position, now: Mapping[Side, Deflection]) -> bool:
    return bool(position.targets) and all(
        now[side].deflection_deg * target.deflection_deg > 0 for side, target in position.targets.items()
    )


def _is_at_neutral(now: Mapping[Side, Deflection]) -> bool:
    """Whether the stick has not left neutral yet."""
    return all(abs(each.deflection_deg) < NEUTRAL_DEG for each in now.values())


def _not_there(position: Position) -> Message:
    """What is said of a rest that is not the position asked for."""
    way = "move it all the way" if position.targets else "centre the sticks"
    return Message(f"Not there yet: {way}", or_key=True)


def _part_way(position: Position, now: Mapping[Side, Deflection]) -> Message:
    share = max(now[side].deflection_deg / target.deflection_deg for side, target in position.targets.items())
    return Message(
        f"It stands at {100 * share:.0f} % of the way to {position.name}: is the stick at its end, and its rate the "
        f"right one? If so, hold it {STANDING_S:.0f} s more",
        or_key=True,
    )


def _text(title: str, reading: ThrowResult, text: Callable[[Judgement], str]) -> str:
    rows = [title, *(indent(text(judgement), "  ") for judgement in reading.judgements)]
    return "\n".join(rows + ([f"  {moved_text(reading.moved_deg)}"] if reading.moved_deg is not None else []))
