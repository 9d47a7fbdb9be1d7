"""What the doctor finds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from hingeline.errors import HingelineError, NotMeasurable


@dataclass(frozen=True)
class Finding:
    """One thing that was examined: what was observed, and what was expected where it differs."""

    about: str
    """The computer, a port, a board's or a sensor's id."""
    text: str
    cure: str = ""
    """Empty where nothing has to be done."""
    exit_status: int = 0
    """0, or what a command would end with because of it."""
    figures: Mapping[str, float | list[float]] = field(default_factory=dict)
    """Numbers behind the text, unit in the name."""

    @staticmethod
    def of(about: str, error: HingelineError) -> Finding:
        """Make an error a finding."""
        return Finding(about, error.message, error.cure, error.exit_status)

    @staticmethod
    def judge(about: str, text: str, cure: str = "", **figures: float | list[float]) -> Finding:
        """Make a measured value a finding; where it has a cure, nothing can be measured until that is done."""
        return Finding(about, text, cure, NotMeasurable.exit_status if cure else 0, figures)
