"""The live screen: the gap to the target as one large signed number a side, its word, and all that stands behind it."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import product, zip_longest

from rich.console import Console, ConsoleDimensions
from rich.control import Control
from rich.segment import Segment, Segments

from hingeline.live.digits import ROWS, Dot, draw, width
from hingeline.live.keys import NO_KEYS
from hingeline.procedures.keys import KEYS_TEXT
from hingeline.procedures.state import Gap, Place, SensorState, State
from hingeline.units import BLUE, ORANGE, UNITS, Unit, printable

ALARM = f"bold #000000 on {ORANGE}"
_STYLES = {"MORE": f"bold {ORANGE}", "LOW": f"bold {ORANGE}", "LESS": f"bold {BLUE}", "HIGH": f"bold {BLUE}"}
_DOTS: tuple[Dot, ...] = ((8, 4), (6, 3), (4, 2), (3, 2), (2, 1), (1, 1))
"""Columns and rows of a dot, the largest first; a column is about half as wide as a row is high."""
_PLAIN: Dot = (0, 0)
"""Of a word in the terminal's own letters."""
CODE = "#ffffff on #000000"
_LEAST_ROWS = 10
"""Numbers and words in their smallest dots, and what stands about them."""
_MESSAGE_ROWS = 4
"""So many are kept for what was told, however large the numbers might be."""
REFRESH = 20
"""After so many states all rows are drawn: about once a second."""
Part = tuple[str, str]
"""A text and its style."""
Row = tuple[Part, ...]
"""The parts of a row of the terminal."""
_NOTHING: Part = ("", "")


class LiveScreen:
    """Shows states on a terminal while its `with` lasts; the terminal comes back as it was.

    Parameters
    ----------
    console
        Of the terminal. Where it has but the sixteen colours that its user chose, it gets none: who knows what they
        look like.
    keys
        Whether keys are heard.
    code
        Returns what the page is reached by, an address or a text drawn of blocks; empty once a browser has come.
        Where it leaves no room for the numbers, it takes their place.
    """

    beats = 1

    def __init__(self, console: Console, keys: bool, code: Callable[[], str] = str) -> None:
        self.console = console
        console.no_color |= console.color_system not in ("256", "truecolor")
        self._code = code
        self._keys = keys
        self._size: ConsoleDimensions | None = None
        self._rows: list[Row | None] = []
        self._old = 0

    def __enter__(self) -> LiveScreen:
        self.console.set_alt_screen(True)
        self.console.show_cursor(False)
        return self

    def __exit__(self, *exception: object) -> None:
        self.console.set_alt_screen(False)
        self.console.show_cursor(True)

    def show(self, state: State) -> None:
        """Draw the rows that changed over those before, at once; now and then all, for what else wrote on the terminal
        to go."""
        size = self.console.size
        rows = layout(state, size, self._keys, self._code())[: size.height]
        rows += [()] * (size.height - len(rows))
        self._old += 1
        if size != self._size or self._old == REFRESH:
            self._size, self._rows, self._old = size, [None] * size.height, 0
        changed = [number for number, row in enumerate(rows) if row != self._rows[number]]
        self._rows = [*rows]
        ink = [
            segment
            for number in changed
            for segment in (Control.move_to(0, number).segment, *self._inked(rows[number]))
        ]
        if ink:
            self.console.print(Segments(ink), end="", crop=False)

    def _inked(self, row: Row) -> list[Segment]:
        """Draw a row as wide as the terminal; a text can't steer the terminal."""
        parts = [Segment(printable(text), self.console.get_style(style)) for text, style in row]
        return Segment.adjust_line_length(parts, self.console.width)


def layout(state: State, size: ConsoleDimensions, keys: bool, code: str = "") -> list[Row]:
    """Lay out a state: the ask, the numbers as large as they fit, sensors, messages, keys."""
    columns, rows = size
    above = [*_folded(state.ask, columns, "bold reverse")]
    for sensor in state.alarms:
        above += _folded(f"! {sensor.text} !".upper(), columns, ALARM)
    above += _folded(state.problem, columns, "bold")
    sensors = [
        row
        for sensor in state.sensors
        for row in _folded(_sensor(sensor), columns, "bold" if sensor in state.alarms else "")
    ]
    key_rows = _keys_rows(f"{state.taken_text}  {KEYS_TEXT if keys else NO_KEYS}", columns)
    blocks = code.splitlines() if "\n" in code else []
    above += [((line, CODE),) for line in blocks] or _folded(code, columns, "bold")
    sensors = sensors[: max(rows - len(above) - len(key_rows), 0)]
    left = rows - len(above) - len(sensors) - len(key_rows) - _MESSAGE_ROWS - 2
    if state.sides and (left >= _LEAST_ROWS or not blocks):
        above += [(), *_sides(state, columns, left), ()]
    elif not blocks:
        above.append(())
    room = rows - len(above) - len(sensors) - len(key_rows)
    messages: list[Row] = [((line, ""),) for line in _message_lines(state.messages, columns, room)]
    return [*above, *sensors, *messages, *[()] * (room - len(messages)), *key_rows]


@lru_cache(maxsize=128)
def _folded(text: str, columns: int, style: str = "") -> tuple[Row, ...]:
    """Wrap a text into rows; with a style they are as wide as the terminal."""
    return tuple(((line.ljust(columns if style else 0), style),) for line in textwrap.wrap(text, columns))


def _keys_rows(text: str, columns: int) -> list[Row]:
    """Return the rows of the keys, each key beside what it does."""
    lines = textwrap.wrap(re.sub(r"(?<=\w|\?) (?=\w)", "\xa0", text), columns)
    return [((line.replace("\xa0", " "), ""),) for line in lines]


def _message_lines(texts: Sequence[str], columns: int, rows: int) -> list[str]:
    """Choose the last messages that fit, each whole.

    Of a message that doesn't fit alone, those of its lines that do; of a line that doesn't, its first rows.
    """
    if not texts or rows <= 0:
        return []
    for number in range(len(texts)):
        lines = [line for text in texts[number:] for line in text.splitlines()]
        if sum(len(_wrapped(line, columns)) for line in lines) <= rows:
            return [row for line in lines for row in _wrapped(line, columns)]
    lines = texts[-1].splitlines()
    kept: list[str] = []
    for line in lines:
        if len(wrapped := _wrapped(line, columns)) <= rows - len(kept):
            kept += wrapped
    if kept:
        return kept
    *begun, end = _wrapped(lines[-1], columns)[:rows]
    return [*begun, *textwrap.wrap(f"{end} …", columns, max_lines=1, placeholder=" …")]


@lru_cache(maxsize=128)
def _wrapped(line: str, columns: int) -> tuple[str, ...]:
    """Wrap a line and keep its indent; the rows after the first are indented further."""
    return tuple(textwrap.wrap(line, columns, subsequent_indent=" " * (_indent(line) + 2)))


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def _sensor(sensor: SensorState) -> str:
    return sensor.text if sensor.side == sensor.sensor_id else f"{sensor.text}  ({sensor.sensor_id})"


def _sides(state: State, columns: int, rows: int) -> list[Row]:
    """Draw the sides next to each other, as large as they fit."""
    share = columns // len(state.sides)
    of_each = [_detail_lines(side, state, share - 2) for side in state.sides]
    widest = _widest_number(state), _widest_word(state)
    number, word = _dots(share - 2, rows - 1 - max(map(len, of_each)), *widest)
    sides = [
        _side(side, state, number, _broadest(side, word, share - 2), lines)
        for side, lines in zip(state.sides, of_each, strict=True)
    ]
    return [
        tuple(part for cell in across for part in _centred(cell, share))
        for across in zip_longest(*sides, fillvalue=_NOTHING)
    ]


def _centred(part: Part, columns: int) -> Row:
    """Center a part; the blanks around it have no style."""
    before, spare = divmod(columns - len(part[0]), 2)
    return (" " * before, ""), part, (" " * (before + spare), "")


def _widest_number(state: State) -> str:
    """The widest of the numbers that may come: a gap has no sign."""
    return "00.0" if len(state.gaps) == len(state.sides) else "+00.0"


def _widest_word(state: State) -> str:
    """The widest of the verdicts that may come, so that nothing changes its height with the verdict."""
    words = {gap.word for gap in state.gaps}
    return "" if not words else "MATCHED" if words & {"LOW", "HIGH", "MATCHED"} else "WITHIN"


@lru_cache(maxsize=16)
def _dots(columns: int, rows: int, widest_number: str, widest_word: str) -> tuple[Dot, Dot]:
    """The dots of number and word, the largest that fit; a word that is large goes before a larger number."""
    pairs = [*(product(_DOTS, _DOTS) if widest_word else ()), *product(_DOTS, [_PLAIN])]
    fitting = (
        (number, word)
        for number, word in pairs
        if word <= number
        and width(widest_number, number) <= columns
        and (word == _PLAIN or width(widest_word, word) <= columns)
        and ROWS * (number[1] + word[1]) < rows
    )
    return next(fitting, (_DOTS[-1], _PLAIN))


def _broadest(side: Gap | Place, dot: Dot, columns: int) -> Dot:
    """The dot of a word, broader where the word is short: thin letters can't be read from afar."""
    if dot == _PLAIN or isinstance(side, Place):
        return dot
    return next(broad for broad in _DOTS if broad[1] == dot[1] and width(side.word, broad) <= columns)


def _side(side: Gap | Place, state: State, number: Dot, word: Dot, details: Sequence[str]) -> list[Part]:
    style = _STYLES.get(side.word, "bold") if isinstance(side, Gap) else "bold"
    rows = [(heading(side, state), "bold")]
    rows += [(line, style) for line in draw(number_of(side, state.unit), number)]
    if isinstance(side, Gap) and word == _PLAIN:
        rows.append((side.word, "bold reverse"))
    elif isinstance(side, Gap):
        rows += [_NOTHING, *((line, style) for line in draw(side.word, word))]
    broad = max(map(len, details))
    return [*rows, *((line.ljust(broad), "") for line in details)]


def _detail_lines(side: Gap | Place, state: State, columns: int) -> list[str]:
    text = detail(side, state)
    return [text] if len(text) <= columns else text.split(", ")


def number_of(side: Gap | Place, unit: Unit) -> str:
    """The number of a side that is shown large: a gap has no sign, its word carries the direction."""
    return side.to_go.unsigned(unit) if isinstance(side, Gap) else side.now.number(unit)


def heading(side: Gap | Place, state: State) -> str:
    """Write what the large number is, and its unit."""
    unit = UNITS[side.now.unit_of(state.unit)].strip()
    return f"{side.side}, {unit} {'to go' if isinstance(side, Gap) else 'from neutral'}"


def detail(side: Gap | Place, state: State) -> str:
    """Write where the side is, how well that is known, and where it belongs."""
    unit = state.unit
    reach = f"±{side.reach.unsigned(unit)}"
    if isinstance(side, Place):
        return reach
    return f"now {side.now.text(unit)} {reach}, target {side.wanted.text(unit)}"
