"""USB identities of usual boards and UART bridges: a hint where to ask first. Which board it is, it says itself.

Vendor and product numbers from memory.
"""

from __future__ import annotations

from typing import NamedTuple

RP2 = (
    "Hold its BOOTSEL button while you plug it in; onto the drive that appears, copy the .uf2 file of your board "
    "from micropython.org/download"
)
ESP32 = (
    "`pip install esptool`, take the .bin file of your board from micropython.org/download, and run "
    "`esptool --port {port} erase-flash`, then `esptool --port {port} write-flash 0 FILE.bin`; a classic ESP32 "
    "wants 0x1000 in place of 0"
)
ANY = "Put MicroPython on it as micropython.org/download says for your board"


class Device(NamedTuple):
    """The device that a USB identity usually is, and how MicroPython gets on it (`{port}` is to be filled in)."""

    name: str
    micropython: str


DEVICES = {
    (0x2E8A, 0x0003): Device("Raspberry Pi Pico in its boot loader", RP2),
    (0x2E8A, 0x0005): Device("Raspberry Pi Pico with MicroPython", RP2),
    (0x2E8A, 0x000A): Device("Raspberry Pi Pico with another program", RP2),
    (0x2E8A, 0x000F): Device("Raspberry Pi Pico 2 in its boot loader", RP2),
    (0x303A, 0x1001): Device("ESP32-C3 or ESP32-S3 on its own USB", ESP32),
    (0x303A, 0x4001): Device("ESP32-S3 with MicroPython", ESP32),
    (0x10C4, 0xEA60): Device("UART bridge CP210x, usual on ESP32 boards", ESP32),
    (0x1A86, 0x7523): Device("UART bridge CH340, usual on ESP32 boards", ESP32),
    (0x1A86, 0x55D3): Device("UART bridge CH343, usual on ESP32-S3 boards", ESP32),
    (0x1A86, 0x55D4): Device("UART bridge CH9102, usual on ESP32 boards", ESP32),
    (0x0403, 0x6001): Device("UART bridge FT232R", ANY),
    (0x0403, 0x6015): Device("UART bridge FT231X", ANY),
    (0xF055, 0x9800): Device("board with MicroPython", ANY),
}
VENDORS = frozenset(vendor for vendor, _ in DEVICES)
"""Raspberry Pi, Espressif, Silicon Labs, WCH, FTDI, MicroPython."""


def micropython_cure(port: str, device: Device | None) -> str:
    """Tell how to put MicroPython on the device at `port`."""
    return (device.micropython if device else ANY).format(port=port)
