"""What a few seconds of a board's stream show: rate, losses, temperature, noise."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean
from typing import Any

from hingeline.device.doctor.finding import Finding
from hingeline.device.link.board import BoardLink
from hingeline.device.link.fleet import LINES_HZ, Fleet
from hingeline.device.samples import BoardGone, Sample, SensorInfo
from hingeline_calibration.chips import CHIPS
from hingeline_calibration.noise import noise_density, without_gaps
from hingeline_protocol.messages import SEQUENCE_PERIOD

LISTEN_S = 4.0
RATE_SHARE = 0.05
"""The rate may be off by this share: common practice, no source."""
NOISE_TIMES = 3.0
"""The datasheet's noise is a typical figure at one bandwidth, so a few times as much passes: common practice."""
STANDS_STILL = 0.05
"""Below this share of the datasheet's noise, a chip measures no acceleration: common practice, no source."""
_FEWEST = 50
"""Lines from which noise can be estimated."""


def listen(fleet: Fleet, sensors: Sequence[SensorInfo]) -> list[Finding]:
    """Let a board stream for a few seconds, and judge its line and the stream of these sensors.

    Raises `BoardLost` (it was pulled or reset meanwhile).
    """
    (link,) = fleet.boards
    before = link.left_out()
    samples = _stream(fleet, sensors)
    late, collecting = (now - then for now, then in zip(link.left_out(), before, strict=True))
    findings = [_losses(link), _timing(link.board.uid, link.status(), late, collecting)]
    for info in sensors:
        lines = samples[info.sensor_id]
        findings += [_rate(info, lines), _temperature(info, lines), _noise(info, lines)]
    return findings


def _stream(fleet: Fleet, sensors: Sequence[SensorInfo]) -> dict[str, list[Sample]]:
    samples: dict[str, list[Sample]] = {info.sensor_id: [] for info in sensors}
    began_s: float | None = None
    fleet.start()
    for event in fleet:
        if isinstance(event, BoardGone):
            raise event.error
        began_s = event.time_s if began_s is None else began_s
        if event.time_s - began_s > LISTEN_S:
            break
        if isinstance(event, Sample) and event.sensor_id in samples:
            samples[event.sensor_id].append(event)
    fleet.stop()
    return samples


def noise_ug_per_rthz(lines: Sequence[Sample], counts_per_g: float) -> list[float]:
    """Noise density of x, y, z, one-sided, by the one estimator that `hingeline noise` uses too."""
    sequence = [sample.sequence for sample in lines]
    counts = without_gaps([sample.counts for sample in lines], sequence, SEQUENCE_PERIOD)
    interval_s = (lines[-1].time_s - lines[0].time_s) / (len(counts) - 1)
    return [float(value) for value in 1e6 * noise_density(counts / counts_per_g, interval_s)]


def _timing(uid: str, state: Any, late: int, collecting: int) -> Finding:
    """Judge how evenly the board itself takes its readings, whatever the cable and this computer do.

    `late` readings were left out because its buses were slow, `collecting` while it collected garbage, as it must.
    """
    mean_us, worst_us = state.jitter_us, state.jitter_worst_us
    text = (
        f"its lines begin {mean_us / 1000:.2f} ms off schedule on average, {worst_us / 1000:.2f} ms at worst; "
        f"{late} readings left out because it was busy, {collecting} while it tidied its memory, which is usual"
    )
    cure = "Shorten leads and repair a bus that hangs; let fewer sensors share a board" if late else ""
    figures = {"jitter_us": mean_us, "jitter_worst_us": worst_us, "heap_bytes": state.heap}
    figures |= {"left_out": late, "left_out_collecting": collecting}
    return Finding(uid, text, cure, figures=figures)


def _losses(link: BoardLink) -> Finding:
    counts, lost = link.counts, link.counts.lost.total()
    text, cure = f"{counts.lines} lines, none lost or damaged", ""
    if counts.bad or lost:
        text = f"{counts.lines} lines: {lost} lost, {counts.bad} damaged; none should be"
        cure = "Try another USB cable and no hub; keep the cable off servo leads; close what keeps this computer busy"
    return Finding.judge(link.board.uid, text, cure, lines=counts.lines, bad=counts.bad, lost=lost)


def _rate(info: SensorInfo, lines: Sequence[Sample]) -> Finding:
    rate_hz = 0.0
    if len(lines) > 1:  # counted by their sequence: lost ones were made too
        made = (lines[-1].sequence - lines[0].sequence) % SEQUENCE_PERIOD
        rate_hz = made / (lines[-1].time_s - lines[0].time_s)
    wrong = abs(rate_hz / LINES_HZ - 1) > RATE_SHARE
    cure = "Check its wires, shorten its leads, and let fewer sensors share the bus" if wrong else ""
    text = f"{rate_hz:.1f} lines/s, {LINES_HZ} asked for"
    return Finding.judge(info.sensor_id, text, cure, rate_hz=round(rate_hz, 2))


def _temperature(info: SensorInfo, lines: Sequence[Sample]) -> Finding:
    measured = [sample.temperature_c for sample in lines if sample.temperature_c is not None]
    if len(measured) < _FEWEST:
        return Finding(info.sensor_id, "no temperature: let it warm up for a quarter of an hour before a datum")
    mean_c = fmean(measured)
    text = "its thermometer shows changes only" if info.thermometer == "relative" else f"{mean_c:.1f} °C"
    return Finding.judge(info.sensor_id, text, temperature_c=round(mean_c, 2))


def _noise(info: SensorInfo, lines: Sequence[Sample]) -> Finding:
    if len(lines) < _FEWEST:
        cure = "Check its wires: it vanishes while it streams"
        return Finding.judge(info.sensor_id, "too few lines to estimate its noise", cure)
    noise = noise_ug_per_rthz(lines, info.counts_per_g)
    text, cure = f"noise {' '.join(f'{value:.0f}' for value in noise)} µg/√Hz", ""
    if info.chip not in CHIPS:
        text += "; no datasheet figure known"
    else:
        usual = CHIPS[info.chip].noise_ug_per_rthz
        text += f", {' '.join(f'{value:.0f}' for value in usual)} in the datasheet"
        shares = [value / limit for value, limit in zip(noise, usual, strict=True)]
        if min(shares) < STANDS_STILL:
            cure = "Some axis measures nothing, or another chip answers in its place: try another module"
        elif max(shares) > NOISE_TIMES:
            cure = (
                "Lay it on something solid and let go, away from fans, motors and transmitters; feed it from 3V3 with "
                "short leads. If the noise stays, try another module"
            )
    return Finding.judge(info.sensor_id, text, cure, noise_ug_per_rthz=[round(value, 1) for value in noise])
