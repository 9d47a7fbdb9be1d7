"""What a browser gets: the page, once, and then a state at each beat."""

from __future__ import annotations

import json
from importlib.resources import files

from hingeline.live.screen import detail, heading, number_of
from hingeline.procedures.state import Gap, State

MINUS = "\N{MINUS SIGN}"


def page(nonce: str, presses: bool) -> bytes:
    """Return the page; its style and program run under this nonce alone.

    Parameters
    ----------
    presses
        Whether it has keys to press.
    """
    text = (files("hingeline.live.page") / "page.html").read_text("utf-8")
    return text.replace("NONCE", nonce).replace("PRESSES", "true" if presses else "false").encode()


def message(state: State) -> bytes:
    """Return a state as a server-sent event."""
    unit = state.unit
    fields = {
        "ask": state.ask,
        "sides": [
            {
                "head": heading(one, state),
                "number": number_of(one, unit).replace("-", MINUS),
                "word": one.word if isinstance(one, Gap) else "",
                "detail": detail(one, state).replace("-", MINUS),
            }
            for one in state.sides
        ],
        "sensors": [one.text for one in state.sensors],
        "alarms": [one.text for one in state.alarms],
        "problem": state.problem,
        "last": state.messages[-1] if state.messages else "",
        "taken": state.taken_text,
    }
    return f"data: {json.dumps(fields, allow_nan=False)}\n\n".encode()
