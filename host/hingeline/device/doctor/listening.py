"""What a few seconds of a board's stream tell: rate, losses, temperature, noise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from hingeline.device.doctor.finding import NOT_MEASURABLE, Finding
from hingeline.device.link.board import BoardLink
from hingeline.device.link.fleet import LINES_HZ, Fleet
from hingeline.device.samples import BoardGone, Sample, SensorInfo
from hingeline_calibration.chips import CHIPS
from hingeline_calibration.noise import noise_density, without_gaps
from hingeline_calibration.still import Reading, summarise
from hingeline_protocol.messages import SEQUENCE_PERIOD

LISTEN_S = 4.0
RATE_SHARE = 0.05
"""So far the rate may be off: common practice, no source."""
NOISE_TIMES = 3.0
"""So many times the datasheet's noise, a typical figure at one bandwidth, still passes: common practice, no source."""
STANDS_STILL = 0.05
"""Less than this share of the datasheet's noise is no acceleration measured: common practice, no source."""
_FEWEST = 50
"""Lines that noise can be told from."""


@dataclass
class Heard:
    """The lines of one sensor."""

    samples: list[Sample] = field(default_factory=list)

    @property
    def rate_hz(self) -> float:
        """Lines that the board made in a second, lost ones among them; 0 where fewer than two came."""
        if len(self.samples) < 2:
            return 0.0
        first, last = self.samples[0], self.samples[-1]
        return ((last.sequence - first.sequence) % SEQUENCE_PERIOD) / (last.time_s - first.time_s)

    @property
    def window(self) -> Reading | None:
        """Mean of all lines and its covariance; None where there are too few."""
        if len(self.samples) < _FEWEST:
            return None
        times_s, counts, temperatures_c = zip(
            *((one.time_s, one.counts, one.temperature_c) for one in self.samples), strict=True
        )
        return summarise(times_s, counts, temperatures_c)


def listen(fleet: Fleet, sensors: Sequence[SensorInfo]) -> list[Finding]:
    """Let a board stream for a few seconds, and return what is found of these sensors and of its line.

    Raises
    ------
    BoardLost
        It was pulled or reset meanwhile.
    """
    heard = {info.sensor_id: Heard() for info in sensors}
    (link,) = fleet.boards
    late_before = link.status().late
    fleet.start()
    began_s: float | None = None
    for event in fleet:
        if isinstance(event, BoardGone):
            raise event.error
        began_s = event.time_s if began_s is None else began_s
        if event.time_s - began_s > LISTEN_S:
            break
        if isinstance(event, Sample) and event.sensor_id in heard:
            heard[event.sensor_id].samples.append(event)
    fleet.stop()
    state = link.status()
    findings = [_losses(link), _timing(link.board.uid, state, state.late - late_before)]
    for info in sensors:
        one = heard[info.sensor_id]
        findings += [_rate(info, one), _temperature(info, one.window), _noise(info, one)]
    return findings


def noise_ug_per_rthz(samples: Sequence[Sample], counts_per_g: float) -> list[float]:
    """Noise density of x, y, z, one-sided, by the one estimator that `hingeline noise` uses too."""
    counts = without_gaps(
        [sample.counts for sample in samples], [sample.sequence for sample in samples], SEQUENCE_PERIOD
    )
    interval_s = (samples[-1].time_s - samples[0].time_s) / (len(counts) - 1)
    return [float(value) for value in 1e6 * noise_density(counts / counts_per_g, interval_s)]


def _timing(uid: str, state: Any, left_out: int) -> Finding:
    """Tell how evenly the board itself takes its readings, whatever the cable and this computer do."""
    text = (
        f"its lines begin {state.jitter_us / 1000:.2f} ms off their beat on average, "
        f"{state.jitter_worst_us / 1000:.2f} ms at worst; {left_out} readings left out because it was busy"
    )
    figures: dict[str, float | list[float]] = {
        "jitter_us": state.jitter_us,
        "jitter_worst_us": state.jitter_worst_us,
        "left_out": left_out,
    }
    cure = "Shorten leads and mend a bus that hangs; let fewer sensors share a board" if left_out else ""
    return Finding(uid, text, cure, figures=figures)


def _losses(link: BoardLink) -> Finding:
    counts = link.counts
    lost = sum(counts.lost.values())
    figures: dict[str, float | list[float]] = {"lines": counts.lines, "bad": counts.bad, "lost": lost}
    if not counts.bad and not lost:
        return Finding(link.board.uid, f"{counts.lines} lines, none lost or damaged", figures=figures)
    return Finding(
        link.board.uid,
        f"{counts.lines} lines: {lost} lost, {counts.bad} damaged; none should be",
        "Try another USB cable and no hub; keep the cable off servo leads; close what keeps this computer busy",
        NOT_MEASURABLE,
        figures,
    )


def _rate(info: SensorInfo, heard: Heard) -> Finding:
    text = f"{heard.rate_hz:.1f} lines/s, {LINES_HZ} asked for"
    figures: dict[str, float | list[float]] = {"rate_hz": round(heard.rate_hz, 2)}
    if abs(heard.rate_hz / LINES_HZ - 1) <= RATE_SHARE:
        return Finding(info.sensor_id, text, figures=figures)
    cure = "Check its wires, shorten its leads, and let fewer sensors share the bus"
    return Finding(info.sensor_id, text, cure, NOT_MEASURABLE, figures)


def _temperature(info: SensorInfo, window: Reading | None) -> Finding:
    if window is None or window.temperature_c is None:
        return Finding(
            info.sensor_id, "no temperature: let it warm up for a quarter of an hour before a datum"
        )
    figures: dict[str, float | list[float]] = {"temperature_c": round(window.temperature_c, 2)}
    if info.thermometer == "relative":
        return Finding(info.sensor_id, "its thermometer tells changes only", figures=figures)
    return Finding(info.sensor_id, f"{window.temperature_c:.1f} °C", figures=figures)


def _noise(info: SensorInfo, heard: Heard) -> Finding:
    if len(heard.samples) < _FEWEST:
        cure = "Check its wires: it vanishes while it streams"
        return Finding(info.sensor_id, "too few lines to tell its noise", cure, NOT_MEASURABLE)
    seen = noise_ug_per_rthz(heard.samples, info.counts_per_g)
    figures: dict[str, float | list[float]] = {"noise_ug_per_rthz": [round(value, 1) for value in seen]}
    text = f"noise {' '.join(f'{value:.0f}' for value in seen)} µg/√Hz"
    if info.chip not in CHIPS:
        return Finding(info.sensor_id, f"{text}; no datasheet figure known here", figures=figures)
    usual = CHIPS[info.chip].noise_ug_per_rthz
    text += f", {' '.join(f'{value:.0f}' for value in usual)} in the datasheet"
    shares = [value / limit for value, limit in zip(seen, usual, strict=True)]
    cure = ""
    if min(shares) < STANDS_STILL:
        cure = "It measures nothing on some axis, or an impostor answers in its place: try another module"
    elif max(shares) > NOISE_TIMES:
        cure = (
            "Lay it on something solid and let go, away from fans, motors and transmitters; feed it from 3V3 with "
            "short leads. If the noise stays, try another module"
        )
    return Finding(info.sensor_id, text, cure, NOT_MEASURABLE if cure else 0, figures)
