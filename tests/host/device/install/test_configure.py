"""`hingeline configure` through the real mpremote on the real MicroPython."""

import json
import subprocess
import sys

import pytest
from tests.firmware.installed import use_tables
from tests.host.device.install.test_install import DEADLINE_S, hold, wanted

from hingeline.device.install.configuration import KEYS, read_settings, show_settings
from hingeline.device.install.prompt import START_S
from hingeline.errors import UsageProblem
from hingeline_firmware import config, store

CONFIG = "hingeline-config.0"


def configure(port, *words):
    command = [sys.executable, "-m", "hingeline", "configure", "--port", port, *words]
    return subprocess.run(command, check=False, capture_output=True, text=True, timeout=DEADLINE_S)


def kept(unix_board):
    """Return what the board keeps in its newer copy."""
    copies = [content for path, content in unix_board.tree.items() if path.startswith("hingeline-config.")]
    return json.loads(max(copies, key=lambda copy: int(copy[9:].partition(b"\n")[0])).partition(b"\n")[2])


def test_every_key_of_the_firmware_can_be_written_and_reads_as_it_is_shown(monkeypatch):
    use_tables(monkeypatch)
    assert set(KEYS) == set(config.DEFAULTS)
    values = read_settings(tuple(f"{key}={form.example}" for key, form in KEYS.items()))
    assert config.complete(values) == values
    assert read_settings(tuple(show_settings(values).splitlines())) == values
    assert values["sensors"][1] == {"chip": "lis3dh", "bus": 1, "address": 0x18}
    assert values["buses"][0] == {"id": 0, "sda": 8, "scl": 9}
    assert read_settings(tuple(show_settings(config.DEFAULTS).splitlines())) == {
        key: value if value != "" else None for key, value in config.DEFAULTS.items()
    }


def test_an_address_is_hexadecimal_with_or_without_its_0x():
    assert read_settings(("sensors=mpu6050:0:68,mpu6050:0:0x69",)) == {
        "sensors": [
            {"chip": "mpu6050", "bus": 0, "address": 0x68},
            {"chip": "mpu6050", "bus": 0, "address": 0x69},
        ]
    }


def test_a_key_that_is_none_of_its_own_can_be_taken_from_a_board():
    assert read_settings(("colour=", "name=")) == {"colour": None, "name": None}


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("left wing", "The keys: name, board"),
        ("colour=blue", "The keys: name, board"),
        ("buses=0:8", "Write it as in buses=0:8:9,1:10:11, or buses= for the default"),
        ("sensors=lis3dh:0:high", "Write it as in sensors=lis3dh:0:0x18"),
        ("lines_hz=fast", "Write it as in lines_hz=100"),
        ("watchdog=yes", "Write it as in watchdog=on"),
        ("board=abacus", "Choose one of esp32"),
    ],
)
def test_what_stands_for_no_value_is_told_with_how_to_write_it(word, told):
    with pytest.raises(UsageProblem) as raised:
        read_settings((word,))
    assert told in raised.value.cure


@pytest.mark.long
def test_pins_chips_rate_and_name_are_kept_shown_and_obeyed(unix_board):
    hold(unix_board, wanted())
    told = configure(
        unix_board.port, "board=pico", "name=left wing", "buses=1:10:11", "bus_hz=1:400000", "sensors=lis3dh:1:0x19",
        "lines_hz=100", "readings=2", "watchdog=on",
    )  # fmt: skip
    assert told.returncode == 0, told.stderr
    assert told.stdout.startswith(
        "name=left wing\nboard=pico\nbuses=1:10:11\nbus_hz=1:400000\nsensors=lis3dh:1:0x19\nlines_hz=100\n"
    )
    assert 'pico "left wing" at ' in told.stdout
    assert "  bus 1, SDA GPIO 10, SCL GPIO 11:\n    lis3dh on bus 1 at 0x19 does not answer" in told.stdout
    again = json.loads(configure(unix_board.port, "--json").stdout)
    assert again["configuration"] == {**kept(unix_board), "spi": False}
    assert kept(unix_board) == {
        "name": "left wing", "board": "pico", "lines_hz": 100, "readings": 2, "watchdog": True,
        "buses": [{"id": 1, "sda": 10, "scl": 11}], "bus_hz": [{"id": 1, "hz": 400000}],
        "sensors": [{"chip": "lis3dh", "bus": 1, "address": 0x19}],
    }  # fmt: skip
    assert (again["watchdog"], [one["state"] for one in again["sensors"]]) == ("ready", ["absent"])
    back = configure(unix_board.port, "buses=", "bus_hz=", "sensors=", "lines_hz=", "readings=", "watchdog=off")
    assert back.returncode == 0, back.stderr
    assert kept(unix_board) == {"board": "pico", "name": "left wing"}


@pytest.mark.long
def test_what_no_board_can_follow_is_refused_and_the_board_goes_on_as_before(unix_board):
    hold(unix_board, wanted())
    assert configure(unix_board.port, "board=pico", "name=left wing").returncode == 0
    before = unix_board.tree
    starts = unix_board.starts
    for words, told in (
        (["sensors=lis3dh:0:0x18,adxl345:0:0x18"], "sensors: bus and address (0, 24): expected once"),
        (["buses=0:4:5,1:5:6"], "buses: pin 5: expected once"),
        (["board=pico", "sensors=lis3dh:7:0x18"], "sensors: no bus 7 for lis3dh, expected one of [0, 1]"),
        (["sensors=mpu6050:0:0x44"], "sensors: mpu6050 has no address 0x44, expected 0x68 or 0x69"),
        (["lines_hz=100", "readings=4"], "100 lines/s of 4 readings"),
    ):
        refused = configure(unix_board.port, *words)
        assert refused.returncode == 2
        assert f"can't be configured so: {told}" in refused.stderr
        assert "KEY= takes a key back" in refused.stderr
    assert unix_board.tree == before
    assert unix_board.starts == starts + 5, "it was left at no prompt"


@pytest.mark.long
def test_a_pin_that_the_board_itself_needs_is_refused_by_what_it_serves(unix_board):
    hold(unix_board, wanted())
    assert configure(unix_board.port, "board=esp32").returncode == 0
    before = unix_board.tree
    for board, buses, told in (
        ("esp32", "0:1:3", "pin 1 serves the console"),
        ("esp32", "0:21:11", "pin 11 serves the flash"),
        ("esp32_c3", "0:4:18", "pin 18 serves the USB"),
        ("pico", "0:4:5,1:6:23", "pin 23 serves the supply"),
    ):
        refused = configure(unix_board.port, f"board={board}", f"buses={buses}")
        assert refused.returncode == 2
        assert f"can't be configured so: buses: {told}, expected another" in refused.stderr
    assert unix_board.tree == before
    moved = configure(unix_board.port, "buses=0:4:18")
    assert moved.returncode == 0, moved.stderr
    refused = configure(unix_board.port, "board=esp32_c3")
    assert "buses: pin 18 serves the USB" in refused.stderr, "the buses that it has, on another board"
    assert kept(unix_board)["board"] == "esp32"


@pytest.mark.long
def test_a_file_system_that_takes_nothing_is_told_with_its_cure_and_the_former_stays(unix_board):
    hold(unix_board, {**wanted(), "hingeline-config.1": store.pack(9, b'{"board": "pico"}')})
    (unix_board.files / CONFIG).mkdir()  # what the board would overwrite, and the system refuses
    before = unix_board.tree
    failed = configure(unix_board.port, "name=left wing")
    assert failed.returncode == 2
    assert "did not take the configuration: it is a folder" in failed.stderr
    assert "Make room: delete your own files" in failed.stderr
    assert unix_board.tree == before
    shown = configure(unix_board.port)
    assert shown.returncode == 0, shown.stderr
    assert shown.stdout.startswith("name=\nboard=pico\n")
    assert unix_board.starts == 3, "it was left at no prompt"


@pytest.mark.long
def test_a_broken_configuration_is_told_and_told_anew(unix_board):
    hold(unix_board, {**wanted(), CONFIG: b"torn"})
    told = configure(unix_board.port)
    assert told.returncode == 2
    assert "can't be used, the board uses the defaults: config: no sound copy" in told.stderr
    assert "hingeline configure KEY=VALUE" in told.stderr
    mended = configure(unix_board.port, "board=pico")
    assert mended.returncode == 0, mended.stderr
    assert kept(unix_board) == {"board": "pico"}


@pytest.mark.long
def test_a_key_of_another_version_is_told_and_taken_back(unix_board):
    told_later = store.pack(9, b'{"board": "pico", "colour": "blue"}')
    hold(unix_board, {**wanted(), CONFIG: told_later})
    refused = configure(unix_board.port, "name=left wing")
    assert refused.returncode == 2
    assert "colour: expected one of" in refused.stderr
    mended = configure(unix_board.port, "colour=")
    assert mended.returncode == 0, mended.stderr
    assert kept(unix_board) == {"board": "pico"}


@pytest.mark.long
def test_another_program_that_says_nothing_is_not_waited_for(unix_board):
    """As long as one waits for a slow board is longer than a command of these tests may take."""
    hold(unix_board, {"main.py": b"import sys\nwhile sys.stdin.read(1) != chr(3):\n pass\n"})
    assert START_S > DEADLINE_S
    assert configure(unix_board.port).returncode == 5


@pytest.mark.long
def test_another_firmware_is_not_told_by_keys_that_it_may_not_know(unix_board):
    told = configure(unix_board.port, "board=pico")
    assert told.returncode == 5
    assert f"Run `hingeline install --port {unix_board.port}` first" in told.stderr
    assert CONFIG not in unix_board.tree
    assert configure("socket://127.0.0.1:9").returncode == 2
