"""What a browser gets: the page, once, and then a state at each beat."""

from __future__ import annotations

import json
from importlib.resources import files

from hingeline.live.words import detail, heading, number_of
from hingeline.procedures.state import Gap, State

MINUS = "\N{MINUS SIGN}"


def page(nonce: str, presses: bool) -> bytes:
    """Build the page, with keys or without; its style and program run under this nonce alone."""
    text = (files("hingeline.live.page") / "page.html").read_text("utf-8")
    return text.replace("NONCE", nonce).replace("PRESSES", "true" if presses else "false").encode()


def message(state: State) -> bytes:
    """Write a state as a server-sent event."""
    sides = [
        {
            "head": heading(side, state.unit),
            "number": number_of(side, state.unit).replace("-", MINUS),
            "word": side.word if isinstance(side, Gap) else "",
            "detail": detail(side, state.unit).replace("-", MINUS),
        }
        for side in state.sides
    ]
    fields = {
        "ask": state.ask,
        "sides": sides,
        "sensors": [sensor.text for sensor in state.sensors],
        "alarms": [sensor.text for sensor in state.alarms],
        "problem": state.problem,
        "last": state.messages[-1] if state.messages else "",
        "taken": state.taken_text,
    }
    return f"data: {json.dumps(fields, allow_nan=False)}\n\n".encode()
