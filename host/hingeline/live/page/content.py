"""What a browser gets: the page, once, and then a picture at each beat."""

from __future__ import annotations

import json
from importlib.resources import files

from hingeline.live.picture import Gap, Picture
from hingeline.live.screen import detail, heading, number_of

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


def message(picture: Picture) -> bytes:
    """Return a picture as a server-sent event."""
    unit = picture.unit
    fields = {
        "asked": picture.asked,
        "sides": [
            {
                "head": heading(one, picture),
                "number": number_of(one).number(unit).replace("-", MINUS),
                "word": one.word if isinstance(one, Gap) else "",
                "detail": detail(one, picture).replace("-", MINUS),
            }
            for one in picture.sides
        ],
        "sensors": [one.text for one in picture.sensors],
        "alarms": [one.text for one in picture.alarms],
        "problem": picture.problem,
        "last": picture.told[-1] if picture.told else "",
        "taken": picture.taken,
    }
    return f"data: {json.dumps(fields, allow_nan=False)}\n\n".encode()
