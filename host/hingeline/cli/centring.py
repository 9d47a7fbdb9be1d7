"""`hingeline centring`: how well a surface comes back to neutral."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.findings import examine, limit_option, read_limit_deg, surface_command
from hingeline.cli.screen import Screen

if TYPE_CHECKING:
    from hingeline.checks.results import CheckResult
    from hingeline.cli.visit import Visit
    from hingeline.measure.capture import Seen
    from hingeline.measure.pipeline import Instrument
    from hingeline.rig.sheet import Sheet

RESTLESS_S = 8.0
"""Who moves on for so long leaves the surface too short at neutral; common practice, no source."""


class Restless:
    """Says so, once, where what comes and goes never rests.

    Parameters
    ----------
    say
        Takes the words.
    """

    def __init__(self, say: Callable[[str], None]) -> None:
        self._say = say
        self._since_s: float | None = None

    def saw(self, seen: Seen) -> None:
        """Take one event."""
        time_s = seen.event.time_s
        if not seen.moving:
            self._since_s = None
        elif self._since_s is None:
            self._since_s = time_s
        elif time_s - self._since_s > RESTLESS_S:
            self._say("No rest yet: leave it alone for a second each time, or say how long with --hold.")
            self._since_s = math.inf


@click.command()
@click.option(
    "--times",
    type=click.IntRange(2, 20),
    default=5,
    show_default=True,
    metavar="N",
    help="Returns from each way.",
)
@limit_option("by the sheet's profile, 0.2 or 0.5 deg", "0.3 deg")
@surface_command
def centring(*, screen: Screen, times: int, limit: str | None, **common: Any) -> int:
    """Come to neutral from above and from below: how far apart SURFACE rests.

    \b
    Example:
      hingeline centring lantern.rig.toml elevator

    Five times each. The spread is how it repeats, the gap between both ways is hysteresis. Move the stick away, let
    it come back, leave it for a second. Exit status 0 within the limit, 6 beyond.
    """
    measure = partial(_measure, limit_deg=read_limit_deg(limit))
    return examine(screen, "centring", measure, times=times, **common)


def _measure(
    here: Visit, sheet: Sheet, surface: str, sides: tuple[Instrument, ...], limit_deg: float | None
) -> CheckResult:
    from hingeline.checks.centring import CENTRING_DEG, WAYS, CentringCheck
    from hingeline.checks.moment import passing
    from hingeline.measure.capture import TakenBack
    from hingeline.measure.tracks import Lines

    ids = [one.sensor_id for one in sides]
    lines = Lines(ids)
    restless = Restless(here.screen.say)

    def saw(seen: Seen) -> None:
        lines.saw(seen)
        restless.saw(seen)

    capture = here.capture(ids, saw)
    here.ask(f"{surface}: sticks centred, hands off.")
    neutral = capture.rest()
    here.stage.took()
    here.stage.judging(passing(sheet, surface, sides, neutral))
    here.takes_standing = False
    check = CentringCheck(sides, neutral, limit_deg or CENTRING_DEG[sheet.tolerances.profile])
    wanted, first = here.choices["times"], sides[0].side
    while check.least < wanted:
        above, below = (check.returns(first, way) for way in WAYS)
        here.ask(
            f"{surface}: {'up' if above <= below else 'down'} with the {first} side, let it come back, leave it a "
            f"second; {above} of {wanted} from above, {below} from below."
        )
        try:
            while not check.take(capture.rest(), lines):
                pass
        except TakenBack:
            check.forget_last()
        else:
            here.stage.took()
            here.takes_back.append(f"return {above + below + 1}")
        lines.forget()
    return check.result()
