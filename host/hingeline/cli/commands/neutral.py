"""Match the neutrals of SURFACE, left with right.

\b
Example:
  hingeline neutral lantern.rig.toml flap

Tape both sensors at the same distance from the root: skins slope, and surfaces taper. Bring one side to the manual's
mark by eye. You match the other to it, and the command says what to turn. If the sheet counts the neutral from the
faired position, hold that first. It measures again after each change, and stays at MATCHED until you move the stick to
an end or press N; with --no-input it measures once. Where crooked tape decides, it asks for one slow stroke first. Exit
status 0 within the tolerance, 6 outside.
"""

from collections.abc import Iterator

from hingeline.cli.options import Target, measuring
from hingeline.cli.screen import Screen


@measuring(fixed=True)
def neutral(screen: Screen, target: Target) -> int:
    from hingeline.checks.results import write_result
    from hingeline.cli.run import open_run, seat_sensors
    from hingeline.procedures.neutral import match_neutral, neutral_text
    from hingeline.procedures.shell import join

    surface = target.surface
    go_on = join(("hingeline", "neutral", str(target.rig), surface, *_given(target)))
    with open_run(screen, target) as (runner, sheet):
        instruments = seat_sensors(runner, sheet, surface, by_wiggle=True)
        reading, _ = match_neutral(runner, sheet, surface, instruments, go_on)
    return screen.verdict(f"{surface}, neutral\n{neutral_text(reading)}", **write_result(reading))


def _given(target: Target) -> Iterator[str]:
    """The options that say what is measured."""
    for port in target.ports:
        yield from ("--port", port)
    for option in ("left", "right", "middle", "fixed"):
        if target.choices.get(option):
            yield from (f"--{option}", target.choices[option])
