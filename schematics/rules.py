"""Rules that make the wires of a build work: pins, addresses, pull-ups, leads, supply, signal levels."""

from __future__ import annotations

import itertools
from collections import Counter

from wiring import Build, Module

SUPPLY_V = 3.3
PIN_V = SUPPLY_V + 0.3
"""Highest voltage at a pin of a board: VDD + 0.3 V of an ESP32; an RP2040 bears 0.2 V more (both from memory)."""
HIGH_V = 0.7 * SUPPLY_V
"""Lowest level that is read as high: UM10204, table 10, VIH."""
LOW_V = 0.4
"""Highest level of a low line at SINK_MA: NXP UM10204, table 10, VOL1 and IOL."""
SINK_MA = 3.0
RISE_NS = 1000.0
"""Longest rise time in standard mode, the 100 kbit/s of the firmware: UM10204, table 11."""
RISE = 0.8473
"""Rise time from 30 to 70 % of the supply, in units of R·C: UM10204, equation 3."""
CAPACITANCE_PF = 400.0
"""Highest capacitance of a bus: UM10204, table 10."""
LEAD_PF_M = 100.0
PIN_PF = 10.0
"""A lead's capacitance by length, and that of one device: common practice, no source."""
LEAD_M = 0.5
SENSORS = 4


def check(build: Build) -> list[str]:
    """List the problems of a build, in words; nothing if it is sound."""
    problems = [*_pins(build), *_addresses(build), *_modules(build)]
    for bus in sorted({module.bus for module in build.modules}):
        problems += _bus(bus, [module for module in build.modules if module.bus == bus])
    return [f"{build.name}: {problem}" for problem in problems]


def _pins(build: Build) -> list[str]:
    by_place = {pin.at: [other.net for other in build.pins if other.at == pin.at] for pin in build.pins}
    by_net = Counter(pin.net for pin in build.pins)
    wanted = dict.fromkeys(pin.net for module in build.modules for pin in module.pins)
    return [
        *[
            f"pin {at} serves {' and '.join(nets)}, expected one of them"
            for at, nets in by_place.items()
            if len(nets) > 1
        ],
        *[f"{net} is on {count} pins of the board, expected one" for net, count in by_net.items() if count > 1],
        *[f"{net} is on no pin of the board, expected one" for net in wanted if net not in by_net],
    ]


def _addresses(build: Build) -> list[str]:
    return [
        f"{a.label} and {b.label} have address 0x{a.address:02X} on bus {a.bus}: strap one differently or move it"
        for a, b in itertools.combinations(build.modules, 2)
        if (a.bus, a.address) == (b.bus, b.address)
    ]


def _modules(build: Build) -> list[str]:
    problems = []
    if len(build.modules) > SENSORS:
        problems.append(f"{len(build.modules)} sensors, expected at most {SENSORS}")
    for module in build.modules:
        if module.lead_m > LEAD_M:
            problems.append(f"{module.label}: lead of {module.lead_m} m, expected at most {LEAD_M} m")
        low_v, high_v = module.supply_v
        if not low_v <= SUPPLY_V <= high_v:
            problems.append(f"{module.label}: supply {SUPPLY_V} V, its chip takes {low_v} to {high_v} V")
        problems += _level(module)
    return problems


def _level(module: Module) -> list[str]:
    """Check the level of a module's lines on the board's side of its level shifter, if it has one."""
    level = f"{module.label}: its SDA and SCL are pulled up to {module.signal_v} V"
    if module.signal_v > PIN_V:
        return [f"{level}, a pin of the board bears {PIN_V:.1f} V: feed it from 3V3, or put a level shifter between"]
    if module.signal_v < HIGH_V:
        return [f"{level}, expected at least {HIGH_V:.2f} V: take a module for 3.3 V, or put a level shifter between"]
    return []


def _bus(bus: int, modules: list[Module]) -> list[str]:
    pull_up_ohm = 1 / sum(1 / module.pull_up_ohm for module in modules)
    capacitance_pf = sum(module.lead_m * LEAD_PF_M + PIN_PF for module in modules) + PIN_PF
    weakest_ohm = (SUPPLY_V - LOW_V) / SINK_MA * 1000
    rise_ns = RISE * pull_up_ohm * capacitance_pf / 1000
    problems = []
    if pull_up_ohm < weakest_ohm:
        problems.append(
            f"bus {bus}: pull-ups of {pull_up_ohm:.0f} Ω in parallel, expected at least {weakest_ohm:.0f} Ω: "
            "unsolder those of a module"
        )
    if rise_ns > RISE_NS:
        problems.append(
            f"bus {bus}: rises in {rise_ns:.0f} ns, expected at most {RISE_NS:.0f} ns: shorten leads or add pull-ups"
        )
    if capacitance_pf > CAPACITANCE_PF:
        problems.append(f"bus {bus}: {capacitance_pf:.0f} pF, expected at most {CAPACITANCE_PF:.0f} pF: shorten leads")
    return problems
