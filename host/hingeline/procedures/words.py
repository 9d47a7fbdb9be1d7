"""Judgements in words: a line for a reader, a few words for a glance."""

from __future__ import annotations

from hingeline.checks.values import LEFT_RIGHT, Judgement
from hingeline.units import UNITS, signed


def moved_text(moved_deg: float | None) -> str:
    """What a turn of both sides alike may be; empty where there was none."""
    if moved_deg is None:
        return ""
    return (
        f"Both sides have turned {signed(moved_deg)}° alike: the model was moved, or the stick. Support the "
        "model firmly, or tape a further sensor on a fixed part: --fixed"
    )


def judgement_text(judgement: Judgement) -> str:
    """One line for a reader: angle and travel with their 95 % uncertainty, target, verdict, advice."""
    angle, unit = judgement.measured, UNITS[judgement.unit]
    parts = [f"{judgement.name:<12} {signed(angle.deg):>7}° ±{angle.reach_deg:.2f}"]
    if judgement.travel is not None:
        travel = judgement.travel
        parts.append(f"{signed(travel.mm):>7} mm ±{travel.reach_mm:.2f} ({travel.convention})")
    parts.append(f"target {signed(judgement.target)}{unit} ±{judgement.tolerance:.2f}")
    close = ", but the limit is within the uncertainty" if judgement.close else ""
    parts.append(f"{judgement.verdict_text}{close}")
    if judgement.streamwise_deg is not None:
        parts.append(f"{signed(judgement.streamwise_deg)}° streamwise")
    further = [judgement.reason, judgement.cure, judgement.limited_by, judgement.advice, judgement.effect]
    return "\n".join(("  ".join(parts), *(f"{'':<13}{text}" for text in further if text)))


def brief_text(judgement: Judgement) -> str:
    """Verdict and advice alone: what is read from afar, with both hands on the transmitter."""
    close = " (limit within ±)" if judgement.close else ""
    words = f": {judgement.to_do}" if judgement.to_do else ""
    name = judgement.name.removeprefix(LEFT_RIGHT).strip()  # the verdict of a match names the side itself
    return f"{name} {judgement.verdict_text}{close}{words}".lstrip()
