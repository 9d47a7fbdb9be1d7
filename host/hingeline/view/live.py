"""The live screen: the gap to the target as one large signed number a side, its word, and all that stands behind it."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence

from rich.align import Align
from rich.console import Console, ConsoleDimensions, Group, RenderableType
from rich.live import Live
from rich.table import Table
from rich.text import Text

from hingeline.advice.verdict import UNITS
from hingeline.view.digits import ROWS, Dot, draw, width
from hingeline.view.picture import Gap, Picture, Place, SensorState, Size

BLUE, ORANGE = "#0072B2", "#D55E00"
"""Okabe-Ito: told apart by everybody; here with the sign, never instead of it."""
_STYLES = {"ADD": f"bold {ORANGE}", "EASE": f"bold {BLUE}", "HOLD": "bold"}
_WIDEST = "+00.0"
_DOTS = ((8, 4), (6, 3), (4, 2), (3, 2), (2, 1), (1, 1))
"""Columns and rows of a dot, the largest first; a column is about half as wide as a row is high."""
_OTHER_ROWS = 8
"""All but sensors and sides, with some to spare for what takes a second row."""
KEYS = "[u] units  [b] take back  [q] quit  [other] take it now"
NO_KEYS = "no keys needed: stillness takes each reading"


class LiveScreen:
    """Shows pictures on a terminal while its `with` lasts; the terminal comes back as it was.

    Parameters
    ----------
    console
        Of the terminal.
    keys
        Whether keys are heard.
    code
        Returns what the phone page is reached by, as a text drawn of blocks; empty once a phone has come.
    """

    def __init__(self, console: Console, keys: bool, code: Callable[[], str] = str) -> None:
        self.console = console
        self._code = code
        self._keys = keys
        self._live = Live(
            console=console, screen=True, auto_refresh=False, redirect_stderr=False, redirect_stdout=False
        )

    def __enter__(self) -> LiveScreen:
        self._live.start()
        return self

    def __exit__(self, *exception: object) -> None:
        self._live.stop()

    def show(self, picture: Picture) -> None:
        """Show a picture."""
        self._live.update(layout(picture, self.console.size, self._keys, self._code()), refresh=True)


def layout(picture: Picture, size: ConsoleDimensions, keys: bool, code: str = "") -> RenderableType:
    """Return a picture laid out for a terminal of that size."""
    parts: list[RenderableType] = [Text(picture.asked, style="bold reverse", overflow="fold"), Text()]
    if picture.alarms:
        parts += [Text(f"! {one.text} !".upper(), style=f"bold reverse {ORANGE}") for one in picture.alarms]
    if picture.problem:
        parts.append(Text(picture.problem, style="bold", overflow="fold"))
    below = _below(picture, keys, size.width)
    if code:
        return Group(*parts, Text(code, style="#ffffff on #000000", no_wrap=True), *below)
    if picture.sides:
        room = size.height - len(picture.sensors) - _OTHER_ROWS
        parts.append(_sides(picture, size.width, room))
    else:
        parts += [Text(line, style="dim") for line in picture.told[:-1]]
    return Group(*parts, Text(), *below)


def _below(picture: Picture, keys: bool, columns: int) -> list[RenderableType]:
    sensors = [
        Text(_sensor(one), style="" if one not in picture.alarms else "bold") for one in picture.sensors
    ]
    said = picture.told[-1].strip() if picture.told else ""
    last = [Text(line) for line in textwrap.wrap(said, columns, max_lines=2, placeholder=" …") or [""]]
    taken = f"{picture.captured} taken" + (f", {picture.taken_back} taken back" if picture.taken_back else "")
    return [*sensors, *last, Text(f"{taken}  {KEYS if keys else NO_KEYS}", style="dim", overflow="fold")]


def _sensor(one: SensorState) -> str:
    return one.text if one.side == one.sensor_id else f"{one.text}  ({one.sensor_id})"


def _sides(picture: Picture, columns: int, rows: int) -> Table:
    """Return the sides next to each other, as large as they fit."""
    lines = 2 if picture.gaps else 1
    share = columns // len(picture.sides)
    fitting = (dot for dot in _DOTS if width(_WIDEST, dot) <= share - 2 and lines * ROWS * dot[1] + 4 <= rows)
    dot = next(fitting, _DOTS[-1])
    table = Table.grid(expand=True)
    for _ in picture.sides:
        table.add_column(ratio=1)
    table.add_row(*(_side(one, picture, dot) for one in picture.sides))
    return table


def _side(one: Gap | Place, picture: Picture, dot: Dot) -> Group:
    style = _STYLES[one.word] if isinstance(one, Gap) else "bold"
    word = (Text(), _block(draw(one.word, dot), style)) if isinstance(one, Gap) else ()
    return Group(
        Align.center(Text(heading(one, picture), style="bold")),
        _block(draw(number_of(one).number(picture.unit), dot), style),
        *word,
        Align.center(Text(detail(one, picture))),
    )


def number_of(one: Gap | Place) -> Size:
    """Return the number of a side that is shown large."""
    return one.to_go if isinstance(one, Gap) else one.now


def heading(one: Gap | Place, picture: Picture) -> str:
    """Return what that number is, and its unit."""
    unit = UNITS[number_of(one).unit_of(picture.unit)].strip()
    return f"{one.what}, {unit} {'to go' if isinstance(one, Gap) else 'from neutral'}"


def detail(one: Gap | Place, picture: Picture) -> str:
    """Return where the side is, how well that is known, and where it belongs."""
    unit = picture.unit
    reach = f"±{one.reach.number(unit).lstrip('+')}"
    if isinstance(one, Place):
        return reach
    return f"now {one.now.text(unit)} {reach}, wanted {one.wanted.text(unit)}"


def _block(lines: Sequence[str], style: str) -> Align:
    return Align.center(Text("\n".join(lines), style=style, no_wrap=True))
