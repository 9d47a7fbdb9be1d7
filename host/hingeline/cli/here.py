"""`hingeline here`, and `hingeline` alone: where one is, and the next sensible step."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hingeline.cli.screen import Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.procedures.whereabouts import Whereabouts

NAMED = 3
"""So many sheets are named; a folder may hold a whole club's."""
_CLOSED = {None: "", True: ", closed", False: ", does not hold"}
"""By whether the datum holds: what is told of its last closure."""


@click.command()
@port_option
@command
def here(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """Tell where you are in the job, and what comes next.

    \b
    Examples:
      hingeline
      hingeline here --port /dev/ttyACM0

    `hingeline` alone does the same. It asks the boards at the ports, and looks at what this computer keeps and at the
    rigging sheets of this folder.
    """
    from pathlib import Path

    from hingeline.procedures.next_step import next_step
    from hingeline.procedures.whereabouts import look
    from hingeline.storage.store import Store, now_text

    found = look(ports, Path(), Store(), now_text(), screen.say)
    step, why = next_step(found)
    command = _at(step, ports)
    rows = {
        "boards": _boards(found),
        "sensors": _sensors(found),
        "sides": ", ".join(f"{side} {name}" for side, name in found.sides.items()) or "not known",
        "datum": _datum(found),
        "sheets": _sheets(found),
        "visit": _visit(found),
    }
    text = "\n".join(f"{name.capitalize():<9}{row}" for name, row in rows.items())
    screen.data(f"{text}\n\nNext: {why}\n  {command}", **rows, next=command, why=why)
    return 0


def _at(command: str, ports: tuple[str, ...]) -> str:
    """Return a command with the ports that were named, if it is one that takes them."""
    import shlex

    root = click.get_current_context().find_root()
    assert isinstance(root.command, click.Group)
    step = root.command.get_command(root, command.split()[1])
    if step is None or all("--port" not in option.opts for option in step.params):
        return command
    return " ".join([command, *(f"--port {shlex.quote(port)}" for port in ports)])


def _boards(found: Whereabouts) -> str:
    if found.plugged.trouble is not None:
        return found.plugged.trouble.message
    return ", ".join(found.plugged.boards) or "none plugged in"


def _sensors(found: Whereabouts) -> str:
    plugged = found.plugged
    if not plugged.sensors:
        days = sorted(date[:10] for date in found.calibrated.values())
        return f"{len(days)} calibrated, the last on {days[-1]}" if days else "none calibrated"
    silent = [one.sensor_id for one in plugged.sensors if one.state != "ok"]
    raw = [name for name in plugged.working if name not in found.calibrated]
    parts = [f"{len(plugged.sensors)} plugged in"]
    parts += [f"not working: {', '.join(silent)}"] if silent else []
    parts += [f"not calibrated: {', '.join(raw)}"] if raw else ["calibrated"] if plugged.working else []
    return ", ".join(parts)


def _datum(found: Whereabouts) -> str:
    if found.flat is None:
        return "none"
    if found.fresh or not found.plugged.working:
        return f"of {found.flat.date[:10]}{_CLOSED[found.flat.holds]}"
    return f"of {found.flat.date[:10]}: another visit, other sensors, or older than a calibration"


def _sheets(found: Whereabouts) -> str:
    from hingeline.rig.sheet import Sheet
    from hingeline.units import printable

    named = [
        f"{path.name} ({one.aircraft if isinstance(one, Sheet) else 'to mend'})"
        for path, one in found.sheets.items()
    ]
    more = [f"{len(named) - NAMED} more"] if len(named) > NAMED else []
    return printable(", ".join(named[:NAMED] + more)) or "none in this folder"


def _visit(found: Whereabouts) -> str:
    visit = found.visit
    if visit is None:
        return "none recorded"
    text = f"{visit.aircraft} on {visit.day}: {', '.join(visit.commands)}"
    if (sheet := found.of_the_visit) is None:
        return text
    out = [" ".join(one) for one in visit.lacks(sheet) if visit.is_out(sheet, one)]
    out += [" ".join(one) for one in visit.beyond]
    missing = [" ".join(one) for one in visit.lacks(sheet) if not visit.is_out(sheet, one)]
    parts = [f"out of tolerance: {', '.join(out)}"] if out else []
    parts += [f"not measured yet: {', '.join(missing)}"] if missing else []
    return "; ".join([text, *(parts or ["all within tolerance"])])
