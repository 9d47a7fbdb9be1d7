"""What the doctor finds."""

from __future__ import annotations

from dataclasses import dataclass, field

from hingeline.errors import HingelineError, NotMeasurable

NOT_MEASURABLE = NotMeasurable.exit_status


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at.

    Attributes
    ----------
    about
        The computer, a port, a board's or a sensor's id.
    text
        What was seen, and what was expected where it differs.
    cure
        What to do next; empty where nothing has to be done.
    exit_status
        0, or what a command would end with because of it.
    figures
        Numbers behind the text, unit in the name.
    """

    about: str
    text: str
    cure: str = ""
    exit_status: int = 0
    figures: dict[str, float | list[float]] = field(default_factory=dict)

    @staticmethod
    def of(about: str, error: HingelineError) -> Finding:
        """Return what an error tells."""
        return Finding(about, error.message, error.cure, error.exit_status)
