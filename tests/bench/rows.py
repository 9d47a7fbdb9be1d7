"""What a benchmark tells: one row of the table."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One measured quantity, beside a peer where there is one.

    Attributes
    ----------
    what
        What is measured, with the conditions that matter.
    ours
        Our figure, in `unit`.
    unit
        "lines/s", "ms", "bytes"; empty for a plain number.
    peer
        What it is compared with: a library, a bound, another size of the same; empty without one.
    theirs
        The peer's figure, in `unit`, of the same run; None without a peer.
    at_least, at_most
        The target: of ours / theirs where there is a peer, else of `ours`. None where there is none.
    spread
        Half of the interquartile range of what the target is of, over its median; None for what is not repeated.
    """

    what: str
    ours: float
    unit: str = ""
    peer: str = ""
    theirs: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    spread: float | None = None

    @property
    def ratio(self) -> float | None:
        """Ours / theirs."""
        return None if self.theirs is None else self.ours / self.theirs

    @property
    def met(self) -> bool | None:
        """Whether the target is met, by the three decimals that matter; None without one."""
        if self.at_least is None and self.at_most is None:
            return None
        told = round(self.ours if self.ratio is None else self.ratio, 3)
        return (self.at_least is None or told >= self.at_least) and (self.at_most is None or told <= self.at_most)
