"""What a recorded session says that its command was told: checked, since a file may come from others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from hingeline.errors import DamagedFile, UsageProblem
from hingeline.live.keys import Key
from hingeline.storage.records import Happening


def choices_of(folder: Path, recorded: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    """Return the choices of a recording, as if they were typed now; those that it knows nothing of are as given now.

    Raises
    ------
    DamagedFile
        The command can't be told so.
    """
    context = click.get_current_context()
    options = {one.name: one for one in context.command.params}
    choices = dict(given)
    for name in recorded.keys() & given.keys():
        option, value = options[name], recorded[name]
        try:
            choices[name] = (
                _default(option, context) if value is None else option.type(str(value), option, context)
            )
        except click.BadParameter as problem:
            raise DamagedFile(
                f"{folder} has {name} = {str(value)[:40]!r}, which this command can't be told: {problem.message}",
                "Replay it as it was recorded",
            ) from problem
    return choices


def _default(option: click.Parameter, context: click.Context) -> Any:
    default = option.get_default(context)
    return default if isinstance(default, str | int | float) else None


def pressed(folder: Path, happening: Happening) -> tuple[float, Key]:
    """Return the time and the key that an event tells of."""
    after_s, key = happening.fields.get("after_s"), happening.fields.get("key")
    if isinstance(after_s, int | float) and key in ("confirm", "back"):
        return after_s, key
    raise DamagedFile(
        f"{folder} tells of a key in another form than hingeline writes", "Replay it as it was recorded"
    )


def first_event(folder: Path, happenings: Sequence[Happening]) -> dict[str, Any]:
    """Return the fields of a session's first event."""
    fields = happenings[0].fields if happenings else {}
    forms = {"command": str, "started": str, "asks": bool, "choices": dict}
    if all(isinstance(fields.get(name), form) for name, form in forms.items()):
        return fields
    raise UsageProblem(
        f"The file {folder} holds no run of a command",
        "Give the file that a command said it recorded in",
    )
