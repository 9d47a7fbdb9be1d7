"""The live screen, in three sizes of type: the number with its word; what to do and what was told last; the rest."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import product, zip_longest

from rich.console import Console, ConsoleDimensions
from rich.control import Control
from rich.segment import Segment, Segments

from hingeline.live import terminal
from hingeline.live.digits import ROWS, Dot, draw, width
from hingeline.live.keys import NO_KEYS
from hingeline.live.words import detail, heading, number_of
from hingeline.procedures.keys import KEYS_TEXT
from hingeline.procedures.state import Gap, Place, State
from hingeline.units import BLUE, ORANGE, Unit, printable

ALARM = f"bold #000000 on {ORANGE}"
CODE = "#ffffff on #000000"
QUIET = "#767676"
"""Of what is not needed from afar: as far from white as from black, 4.5 to 1."""
_STYLES = {"MORE": f"bold {ORANGE}", "LOW": f"bold {ORANGE}", "LESS": f"bold {BLUE}", "HIGH": f"bold {BLUE}"}
_DOTS: tuple[Dot, ...] = ((8, 4), (6, 3), (4, 2), (3, 2), (2, 1), (1, 1))
"""Columns and rows of a dot, the largest first; a column is about half as wide as a row is high."""
_PLAIN: Dot = (0, 0)
"""Of a word in the terminal's own letters."""
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


class LiveScreen:
    """Shows states on a terminal while its `with` lasts; the terminal comes back as it was.

    Where it has but the sixteen colours that its user chose, it gets none: who knows what they look like. `keys`:
    whether they are heard. `code` returns what the page is reached by, an address or a text drawn of blocks; empty once
    a browser has come. Where it leaves no room for the numbers, it takes their place.
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
        terminal.show(self)
        return self

    def __exit__(self, *exception: object) -> None:
        terminal.hide(self)

    def take(self) -> None:
        self.console.set_alt_screen(True)
        self.console.show_cursor(False)
        self._size = None

    def give_back(self) -> None:
        self.console.set_alt_screen(False)
        self.console.show_cursor(True)

    def show(self, state: State) -> None:
        """Draw the rows that changed over those before, at once; now and then all, for what else wrote on the terminal
        to go."""
        with terminal.LOCK:
            self._draw(state)

    def _draw(self, state: State) -> None:
        size = self.console.size
        rows = layout(state, size, self._keys, self._code())[: size.height]
        rows += [()] * (size.height - len(rows))
        self._old += 1
        if size != self._size or self._old == REFRESH:
            self._size, self._rows, self._old = size, [None] * size.height, 0
        ink: list[Segment] = []
        for number, (row, before) in enumerate(zip(rows, self._rows, strict=True)):
            if row != before:
                ink += [Control.move_to(0, number).segment, *self._inked(row)]
        self._rows = [*rows]
        if ink:
            self.console.print(Segments(ink), end="", crop=False)

    def _inked(self, row: Row) -> list[Segment]:
        """Draw a row as wide as the terminal; a text can't steer the terminal."""
        parts = [Segment(self._spelt(printable(text)), self.console.get_style(style)) for text, style in row]
        return Segment.adjust_line_length(parts, self.console.width)

    def _spelt(self, text: str) -> str:
        """A text in letters that the terminal has: what stands for one that it lacks may be longer."""
        if text.isascii() or self.console.encoding.startswith("utf"):
            return text
        return text.encode(self.console.encoding, getattr(self.console.file, "errors", None) or "replace").decode(
            self.console.encoding
        )


def layout(state: State, size: ConsoleDimensions, keys: bool, code: str = "") -> list[Row]:
    """Lay out a state: what to do, the numbers as large as they fit, sensors, messages, keys."""
    columns, rows = size
    above = [*_folded(state.ask, columns, "bold reverse")]
    for sensor in state.alarms:
        above += _folded(f"! {sensor.text} !".upper(), columns, ALARM)
    above += _folded(state.problem, columns, "bold")
    blocks = [((line, CODE),) for line in code.splitlines()] if "\n" in code else []
    above += blocks or _folded(code, columns, "bold")
    text = f"{state.taken_text}  {KEYS_TEXT if keys else NO_KEYS}"
    beside = re.sub(r"(?<=\w|\?) (?=\w)", "\xa0", text)  # a key stands beside what it does
    below = [((line.replace("\xa0", " "), style),) for ((line, style),) in _folded(beside, columns, QUIET)]
    sensors: list[Row] = []
    for sensor in state.sensors:
        sensors += _folded(sensor.text, columns, "bold" if sensor in state.alarms else QUIET)
    room = rows - len(above) - len(below)
    for_sides = room - _MESSAGE_ROWS - 2  # sensors that are well go before nothing
    if state.sides and (for_sides >= _LEAST_ROWS or not blocks):
        above += [(), *_sides(state, columns, for_sides), ()]
    elif not blocks:
        above.append(())
    room = rows - len(above) - len(below)
    # what each side is to turn goes before sensors that are well, all or none: those that are not stand above
    if len(sensors) > room - len(_message_rows(state.messages[-1:], columns, room)):
        sensors = []
    room -= len(sensors)
    messages = _message_rows(state.messages, columns, room)
    return [*above, *sensors, *messages, *[()] * (room - len(messages)), *below]


@lru_cache(maxsize=128)
def _folded(text: str, columns: int, style: str, hanging: bool = False, most: int | None = None) -> tuple[Row, ...]:
    """Wrap a text into at most so many rows; hanging, those after the first are indented."""
    indent = " " * (len(text) - len(text.lstrip()) + 2) if hanging else ""
    lines = textwrap.wrap(text, columns, subsequent_indent=indent, max_lines=most, placeholder=" …")
    least = columns if "reverse" in style or style == ALARM else 0  # a band goes from side to side
    return tuple(((line.ljust(least), style),) for line in lines)


def _message_rows(texts: Sequence[str], columns: int, rows: int) -> list[Row]:
    """Choose the last messages that fit, each whole; the last of them stands out.

    Of a message that doesn't fit alone, those of its lines that do; of a line that doesn't, its first rows.
    """
    if not texts or rows <= 0:
        return []
    styles = (*[QUIET] * (len(texts) - 1), "bold")
    messages = [
        [_folded(line, columns, style, hanging=True) for line in text.splitlines()]
        for text, style in zip(texts, styles, strict=True)
    ]
    for number in range(len(messages)):
        shown = [row for message in messages[number:] for line in message for row in line]
        if len(shown) <= rows:
            return shown
    kept: list[Row] = []
    for line in messages[-1]:
        kept += line if len(line) <= rows - len(kept) else ()
    return kept or [*_folded(texts[-1].splitlines()[-1], columns, "bold", hanging=True, most=rows)]


def _sides(state: State, columns: int, rows: int) -> list[Row]:
    """Draw the sides next to each other, as large as they fit."""
    share = columns // len(state.sides)
    details = [detail(side, state.unit) for side in state.sides]
    lines_of = [[text] if len(text) <= share - 2 else text.split(", ") for text in details]
    dots = _dots(share - 2, rows - 1 - max(map(len, lines_of)), *_widest(state))
    sides = [_side(side, state.unit, dots, share - 2, lines) for side, lines in zip(state.sides, lines_of, strict=True)]
    return [
        tuple(part for cell in across for part in _centred(cell, share))
        for across in zip_longest(*sides, fillvalue=("", ""))
    ]


def _centred(part: Part, columns: int) -> Row:
    """Center a part; the blanks around it have no style."""
    before, spare = divmod(columns - len(part[0]), 2)
    return (" " * before, ""), part, (" " * (before + spare), "")


def _widest(state: State) -> tuple[str, str]:
    """The widest number and verdict that may come, so that nothing changes its height with them."""
    words = {gap.word for gap in state.gaps}
    word = "" if not words else "MATCHED" if words & {"LOW", "HIGH", "MATCHED"} else "WITHIN"
    return "00.0" if len(state.gaps) == len(state.sides) else "+00.0", word


@lru_cache(maxsize=16)
def _dots(columns: int, rows: int, widest_number: str, widest_word: str) -> tuple[Dot, Dot]:
    """The dots of number and word, the largest that fit; a word that is large goes before a larger number."""
    pairs = [*(product(_DOTS, _DOTS) if widest_word else ()), *product(_DOTS, [_PLAIN])]
    fitting = (
        (number, word)
        for number, word in pairs
        if word <= number
        and max(width(widest_number, number), width(widest_word, word)) <= columns
        and ROWS * (number[1] + word[1]) < rows
    )
    return next(fitting, (_DOTS[-1], _PLAIN))


def _side(side: Gap | Place, unit: Unit, dots: tuple[Dot, Dot], columns: int, details: Sequence[str]) -> list[Part]:
    number, word = dots
    style = _STYLES.get(side.word, "bold") if isinstance(side, Gap) else "bold"
    rows = [(heading(side, unit), "bold"), *((line, style) for line in draw(number_of(side, unit), number))]
    if isinstance(side, Gap) and word == _PLAIN:
        rows.append((side.word, "bold reverse"))
    elif isinstance(side, Gap):
        # broader where the word is short: thin letters can't be read from afar
        broad = next(dot for dot in _DOTS if dot[1] == word[1] and width(side.word, dot) <= columns)
        rows += [("", ""), *((line, style) for line in draw(side.word, broad))]
    widest = max(map(len, details))
    return [*rows, *((line.ljust(widest), QUIET) for line in details)]
