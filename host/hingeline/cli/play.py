"""`hingeline play`: how loose a surface is."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.findings import examine, limit_option, one_by_one, read_limit, surface_command
from hingeline.cli.screen import Screen

if TYPE_CHECKING:
    from hingeline.checks.play import Step
    from hingeline.checks.results import CheckResult
    from hingeline.cli.visit import Visit
    from hingeline.measure.capture import Capture, Readings
    from hingeline.measure.pipeline import Instrument
    from hingeline.rig.quantities import Measure
    from hingeline.rig.sheet import Sheet

STANDING_S = 10.0
"""What has not moved for so long after it was to be pushed does not move."""
_WORDS = {
    "pushed up": "push its trailing edge up with one finger, lightly, and hold",
    "let go from above": "let go",
    "pushed down": "push it down, lightly, and hold",
    "let go from below": "let go",
}


@click.command()
@click.option(
    "--cycles",
    type=click.IntRange(1, 20),
    default=5,
    show_default=True,
    metavar="N",
    help="Up and down so often.",
)
@limit_option("by the sheet's profile, 0.5 or 1 mm", "0.5 mm")
@surface_command
def play(*, screen: Screen, cycles: int, limit: str | None, **common: Any) -> int:
    """Find the play of SURFACE by pushing it with a finger.

    \b
    Examples:
      hingeline play lantern.rig.toml flap
      hingeline play lantern.rig.toml elevator --limit "0.4 deg"

    Lightly up, let go, down, let go, five times on each side. Servo powered, sticks centred. Stillness takes each
    rest. The rests after letting go tell play and friction; the pushed ones add what bends. Exit status 0 within
    the limit, 6 beyond, 7 where no push is seen.
    """
    return examine(screen, "play", partial(_measure, limit=read_limit(limit)), cycles=cycles, **common)


def _measure(
    here: Visit, sheet: Sheet, surface: str, sides: tuple[Instrument, ...], limit: Measure | None
) -> CheckResult:
    from hingeline.checks.limits import joined

    return joined(_side(here, sheet, surface, one, limit) for one in sides)


def _side(here: Visit, sheet: Sheet, surface: str, one: Instrument, limit: Measure | None) -> CheckResult:
    from hingeline.checks.moment import passing
    from hingeline.checks.play import STEPS, PlayCheck
    from hingeline.checks.results import CheckResult
    from hingeline.errors import NotMeasurable

    place = f"{surface} {one.side}"
    capture = here.capture([one.sensor_id])
    here.ask(f"{place}: servo powered, sticks centred, hands off.")
    neutral = capture.rest()
    here.stage.took()
    here.stage.judging(passing(sheet, surface, (one,), neutral))
    steps = [(cycle, step) for cycle in range(1, here.choices["cycles"] + 1) for step in STEPS]

    def ask(number: int) -> Readings:
        cycle, step = steps[number]
        return _rest(here, capture, f"{place}, {cycle}", step)

    try:
        taken = one_by_one(here, ask, len(steps))
    except NotMeasurable as problem:
        here.screen.owe(problem)
        return CheckResult(surface, "play", (), (f"{one.side}: not measured. {problem}",))
    check = PlayCheck(sheet, surface, one, one.at_neutral(neutral), limit)
    for (_, step), rests in zip(steps, taken, strict=True):
        check.take(step, one.gravity(rests))
    return check.result()


def _rest(here: Visit, capture: Capture, place: str, step: Step) -> Readings:
    """Return the rest of a step.

    Who lets go may move nothing; a push shows, however tight the surface, unless the user confirms it at a key.

    Raises
    ------
    NotMeasurable
        No push was seen.
    """
    from hingeline.errors import NotMeasurable

    pushes = step.startswith("pushed")
    for words in (_WORDS[step], f"nothing moved; {_WORDS[step]}"):
        here.ask(f"{place}: {words}.")
        rests = capture.rest(standing_s=STANDING_S)
        if capture.moved or capture.confirmed or not pushes:
            return rests
    raise NotMeasurable(
        f"{place}: no push was seen in {2 * STANDING_S:.0f} s, and what nobody pushes shows no play",
        "Start again and push the side that is asked for; where even a firm push moves nothing, press a key "
        "while you push",
    )
