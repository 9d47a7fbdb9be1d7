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
from hingeline.view.picture import Gap, Picture, SensorState

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
    if picture.gaps:
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
    return f"{one.text}  ({one.sensor_id})"


def _sides(picture: Picture, columns: int, rows: int) -> Table:
    """Return the sides next to each other, as large as they fit."""
    share = columns // len(picture.gaps)
    fitting = (dot for dot in _DOTS if width(_WIDEST, dot) <= share - 2 and 2 * ROWS * dot[1] + 4 <= rows)
    dot = next(fitting, _DOTS[-1])
    table = Table.grid(expand=True)
    for _ in picture.gaps:
        table.add_column(ratio=1)
    table.add_row(*(_side(picture, gap, dot) for gap in picture.gaps))
    return table


def _side(picture: Picture, gap: Gap, dot: Dot) -> Group:
    style, unit = _STYLES[gap.word], picture.unit
    head = f"{gap.what}, {UNITS[gap.to_go.unit_of(unit)].strip()} to go"
    return Group(
        Align.center(Text(head, style="bold")),
        _block(draw(gap.to_go.number(unit), dot), style),
        Text(),
        _block(draw(gap.word, dot), style),
        Align.center(Text(detail(gap, picture))),
    )


def detail(gap: Gap, picture: Picture) -> str:
    """Return where the side is, how well that is known, and where it belongs."""
    unit = picture.unit
    return f"now {gap.now.text(unit)} ±{gap.reach.number(unit).lstrip('+')}, wanted {gap.wanted.text(unit)}"


def _block(lines: Sequence[str], style: str) -> Align:
    return Align.center(Text("\n".join(lines), style=style, no_wrap=True))
