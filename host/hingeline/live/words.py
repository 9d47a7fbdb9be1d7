"""What is said of a side and of sensors, the same on the screen, on the page, in lines and in speech."""

from __future__ import annotations

from hingeline.procedures.state import Gap, Place, State
from hingeline.units import UNITS, Unit


def number_of(side: Gap | Place, unit: Unit) -> str:
    """The number of a side that is shown large: a gap has no sign, its word carries the direction."""
    return side.to_go.unsigned(unit, side.reach) if isinstance(side, Gap) else side.now.number(unit, side.reach)


def heading(side: Gap | Place, unit: Unit) -> str:
    """Write whose the large number is, in capitals to be read from afar, its unit, and what it counts."""
    sign = UNITS[side.now.unit_of(unit)].strip()
    return f"{side.side.upper()}, {sign} {'to go' if isinstance(side, Gap) else 'from neutral'}"


def detail(side: Gap | Place, unit: Unit) -> str:
    """Write where the side is, how well that is known, and where it belongs."""
    reach = f"±{side.reach.unsigned(unit)}"
    return (
        f"now {side.now.text(unit, side.reach)} {reach}, target {side.wanted.text(unit)}"
        if isinstance(side, Gap)
        else reach
    )


def verdicts_of(state: State) -> tuple[object, ...]:
    """Words of all sides, and which sensors do not measure: what is said at once when it changes."""
    words = tuple((gap.side, gap.word) for gap in state.gaps)
    return words, tuple((sensor.side, sensor.condition) for sensor in state.alarms)
