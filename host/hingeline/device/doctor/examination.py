"""The examination: the computer, then each port, the board behind it, its sensors."""

from __future__ import annotations

import os
import platform
from collections.abc import Callable, Sequence
from dataclasses import replace

from hingeline import __version__
from hingeline.device.description import NO_PIN_MAP, STATES, board_line, complaints, sensor_line
from hingeline.device.doctor.finding import Finding
from hingeline.device.doctor.listening import listen
from hingeline.device.doctor.selftest import judge
from hingeline.device.install.payload import firmware_version
from hingeline.device.install.pin_maps import pin_maps
from hingeline.device.link.board import BoardLink
from hingeline.device.link.devices import HAS_UDEV, UDEV_FILE, UDEV_RULE, permission
from hingeline.device.link.fleet import Fleet
from hingeline.device.link.login import KeyOf, no_key
from hingeline.device.link.ports import discover
from hingeline.device.samples import SensorInfo
from hingeline.errors import BoardRefused, HingelineError, NoBoard, WrongFirmware
from hingeline_protocol import PROTOCOL

FIX = "Fix what it says; `hingeline configure` shows and changes the board's configuration"


def examine(ports: Sequence[str], say: Callable[[str], None], key_of: KeyOf = no_key) -> list[Finding]:
    """Examine these ports, or every one that there is; `say` is called where the user must wait.

    A port that nobody named and that has no board is no trouble where another has one. `key_of` as in `Fleet`.
    """
    ours = f"hingeline {__version__} with firmware {firmware_version()}, protocol {PROTOCOL}"
    findings = [Finding("computer", f"{ours}; Python {platform.python_version()} on {platform.system()}")]
    asked = tuple(ports) or tuple(candidate.port for candidate in discover())
    if not asked:
        cure = "Plug a board in, with a cable that carries data and not power alone"
        findings.append(Finding("ports", "no USB serial port was found", cure, NoBoard.exit_status))
    by_port = [_port(port, say, key_of) for port in asked]
    optional = not ports and any(has_board for has_board, _ in by_port)
    for has_board, about_port in by_port:
        passed_over = optional and not has_board
        findings += [replace(each, exit_status=0) for each in about_port] if passed_over else about_port
    return findings


def _port(port: str, say: Callable[[str], None], key_of: KeyOf) -> tuple[bool, list[Finding]]:
    """Examine a port: whether it has a board, and the findings, those about one thing after each other."""
    findings = [Finding(port, candidate.name) for candidate in discover() if candidate.port == port]
    findings += _permission(port)
    try:
        with Fleet([port], key_of) as fleet:
            (link,) = fleet.boards
            findings += _board(link)
            working = [info for info in link.sensors if info.state == "ok"]
            if working:
                say(f"Listening at {port} for a few seconds: leave the sensors still.")
                findings += [_self_test(link, info) for info in working]
                findings += listen(fleet, working)
    except HingelineError as error:
        return False, [*findings, Finding.of(port, error)]
    order = [finding.about for finding in findings]
    return True, sorted(findings, key=lambda finding: order.index(finding.about))


def _permission(port: str) -> list[Finding]:
    """Tell whose the port is, or the rule that would open it. That it is forbidden, the attempt to open it tells."""
    if not os.path.exists(port) or (allowed := permission(port)) is None:
        return []
    if allowed.granted:
        return [Finding(port, f"you may open it (group {allowed.group})")]
    if not HAS_UDEV:
        return []
    cure = f"Write this line to {UDEV_FILE}, run `sudo udevadm control --reload`, plug the board in again: {UDEV_RULE}"
    text = "a udev rule would open it, and every board, to whoever sits at this computer"
    return [Finding(port, text, cure)]


def _board(link: BoardLink) -> list[Finding]:
    uid, board = link.board.uid, link.board
    findings = [Finding(uid, board_line(link)), *_watchdog(link)]
    if board.firmware != firmware_version():
        text = f"firmware {board.firmware}, this computer has {firmware_version()}: it works, but untested"
        cure = f"Run `hingeline install --port {link.port}`: configuration and calibrations stay"
        findings.append(Finding(uid, text, cure))
    cure, status = FIX if board.board in pin_maps() else NO_PIN_MAP, WrongFirmware.exit_status
    findings += [Finding(uid, f"it complains: {notice}", cure, status) for notice in complaints(link)]
    if not link.sensors:
        cure = "Check the wires of each module: `hingeline install` shows the wiring table of this board"
        findings.append(Finding.judge(uid, "no sensor answers on any bus", cure))
    return findings + [_sensor(link, info) for info in link.sensors]


def _watchdog(link: BoardLink) -> list[Finding]:
    """Mention a watchdog that is on, and a restart that may be its doing."""
    uid, findings = link.board.uid, []
    if link.decoder.about.watchdog != "off":
        cure = f"To leave it off: `hingeline install --port {link.port} --no-watchdog`"
        text = "its watchdog restarts it when it hangs while it streams; Ctrl-C restarts it too, once it has streamed"
        findings.append(Finding(uid, text, cure))
    if link.decoder.about.reset == "watchdog":
        cure = (
            "Where nobody pressed Ctrl-C or installed: its program hung or kept failing. Shorten leads, look for a "
            "loose wire and a weak supply"
        )
        findings.append(Finding(uid, "its last reset was by its watchdog", cure))
    return findings


def _sensor(link: BoardLink, info: SensorInfo) -> Finding:
    detail = "" if info.state == "ok" else "".join(f" ({notice})" for notice in complaints(link, info)[-1:])
    return Finding.judge(info.sensor_id, sensor_line(info) + detail, STATES[info.state].cure)


def _self_test(link: BoardLink, info: SensorInfo) -> Finding:
    try:
        answer = link.self_test(info.index)
    except BoardRefused as refused:
        return Finding.of(info.sensor_id, refused)
    result = judge(info.chip, info.counts_per_g, answer)
    moved, cure = " ".join(f"{value:+.0f}" for value in result.response_mg), ""
    if result.limits_mg is None:
        text = f"self-test moves it by {moved} mg; not judged: {result.source}"
    else:
        limits = [f"{low:+.0f} to {high:+.0f}" for low, high in result.limits_mg]
        expected = f"{limits[0]} mg each" if len(set(limits)) == 1 else f"{', '.join(limits)} mg"
        text = f"self-test moves x, y, z by {moved} mg; expected {expected} ({result.source})"
    if result.failed:
        cure = "Lay it down, let go and repeat; if it fails again the chip is damaged: try another module"
    return Finding.judge(info.sensor_id, text, cure, self_test_mg=[round(value, 1) for value in result.response_mg])
