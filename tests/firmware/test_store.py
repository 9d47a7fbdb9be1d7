"""The board's store: what a power cut or a damaged block can't take."""

import json
import subprocess
from pathlib import Path

import pytest
from tests.firmware.installed import environment
from tests.unix_port import micropython

from hingeline_firmware import config, store

ROOT = Path(__file__).parents[2]
HERE = Path(__file__).parent


@pytest.fixture(autouse=True)
def board_files(tmp_path, monkeypatch):
    """An empty folder that plays the board's."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_power_cut_at_any_block_leaves_the_former_or_the_new():
    run = subprocess.run(
        [micropython(), HERE / "power_cut.py"],
        env=environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stderr == ""
    rows = [json.loads(line) for line in run.stdout.splitlines()]
    assert [row["filesystem"] for row in rows] == ["VfsLfs2", "VfsFat"]
    for row in rows:
        assert row["cuts"] > 5
        assert row["former"] > 0
        assert row["new"] > 0
        assert row["other"] == 0


def test_nothing_is_nothing():
    assert store.load("x") is None


def test_the_newest_counts(board_files):
    for number in range(5):
        store.save("x", b"content %d" % number)
        assert store.load("x") == b"content %d" % number
    assert len(list(board_files.iterdir())) == 2


def test_any_damaged_byte_brings_the_former_back(board_files):
    store.save("x", b"former")
    store.save("x", b"new")
    newest = board_files / "hingeline-x.1"
    sound = newest.read_bytes()
    assert sound.endswith(b"new")
    for at in range(len(sound)):
        newest.write_bytes(sound[:at] + bytes([sound[at] ^ 0x10]) + sound[at + 1 :])
        assert store.load("x") == b"former"
        newest.write_bytes(sound[:at])
        assert store.load("x") == b"former"


def test_damage_without_a_sound_copy_is_told_and_can_be_saved_over(board_files):
    store.save("x", b"only")
    (board_files / "hingeline-x.0").write_bytes(b"torn")
    with pytest.raises(store.StoreError, match="x: no sound copy"):
        store.load("x")
    store.save("x", b"again")
    assert store.load("x") == b"again"


def test_a_copy_that_cannot_be_read_is_a_damaged_one(board_files):
    """As littlefs has it where a block of the flash went bad; here a folder in the copy's place."""
    store.save("x", b"former")
    store.save("x", b"new")
    (board_files / "hingeline-x.1").unlink()
    (board_files / "hingeline-x.1").mkdir()
    assert store.load("x") == b"former"
    (board_files / "hingeline-x.0").write_bytes(b"torn")
    with pytest.raises(store.StoreError, match="x: no sound copy"):
        store.load("x")


def buses(*rows):
    return json.dumps({"buses": [dict(zip(("id", "sda", "scl"), row, strict=True)) for row in rows]}).encode()


def sensors(*addresses):
    rows = [{"chip": "mpu6050", "bus": 0, "address": address} for address in addresses]
    return json.dumps({"sensors": rows}).encode()


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"{", "not JSON"),
        (b"[1]", "expected an object"),
        (b'{"bord": "pico"}', "bord: expected one of board bus_hz buses lines_hz name readings sensors spi watchdog"),
        (b'{"sensors": [{"chip": "mpu9", "bus": 0, "address": 104}]}', "chip mpu9: expected one of adxl345"),
        (b'{"sensors": [{"chip": "mpu6050", "bus": 0}]}', "sensors: expected chip, bus, address in each"),
        (b'{"lines_hz": 100, "readings": 4}', "100 lines/s of 4 readings"),
        (b'{"lines_hz": "fast"}', "lines_hz: expected a whole number"),
        (b'{"board": 5}', "board: expected a text"),
        (b'{"name": "' + b"x" * 33 + b'"}', "name: expected a text of at most 32 printable ASCII characters"),
        (b'{"name": "caf\\u00e9"}', "name: expected a text of at most 32"),
        (b'{"watchdog": "yes"}', "watchdog: expected true or false"),
        (b'{"buses": {"id": 0}}', "buses: expected a list"),
        (b'{"buses": [{"id": 0, "sda": 4}]}', "buses: expected id, scl, sda"),
        (buses((0, 4, 5), (0, 6, 7)), "buses: id 0: expected once"),
        (buses((0, 4, 5), (1, 5, 7)), "buses: pin 5: expected once"),
        (b'{"bus_hz": [{"id": 0, "hz": 1000000}]}', "bus_hz: 1000000, expected 10000 to 400000"),
        (b'{"bus_hz": [{"id": 0, "hz": 400000}, {"id": 0, "hz": 100000}]}', "bus_hz: id 0: expected once"),
        (sensors(*range(24, 29)), "sensors: 5, expected at most 4"),
        (sensors(104, 24, 104), "sensors: bus and address (0, 104): expected once"),
    ],
)
def test_a_configuration_that_no_board_can_follow_is_told(content, message):
    store.save(config.FILE, content)
    with pytest.raises(config.ConfigError) as raised:
        config.load()
    assert message in str(raised.value)


def test_a_change_of_the_configuration_keeps_the_rest_and_refuses_what_no_board_can_follow():
    store.save(config.FILE, b'{"board": "esp32", "lines_hz": 100, "readings": 2}')
    config.change({"name": "left wing", "lines_hz": 50, "readings": 4})
    assert json.loads(store.load(config.FILE)) == {"board": "esp32", "name": "left wing"}
    with pytest.raises(config.ConfigError, match="name: expected a text"):
        config.change({"name": "x" * 33})
    assert json.loads(store.load(config.FILE)) == {"board": "esp32", "name": "left wing"}


def test_a_key_goes_back_to_its_default_and_one_that_no_board_can_follow_is_mended_so():
    store.save(config.FILE, b'{"board": "esp32", "lines_hz": 500, "bord": "pico"}')
    with pytest.raises(config.ConfigError, match="bord: expected one of"):
        config.change({"lines_hz": None})
    with pytest.raises(config.ConfigError, match="500 lines/s"):
        config.change({"bord": None})
    config.change({"lines_hz": None, "bord": None})
    assert json.loads(store.load(config.FILE)) == {"board": "esp32"}


@pytest.mark.parametrize("content", [b"{", b"[1]"])
def test_a_configuration_that_cannot_be_read_is_told_anew(content):
    store.save(config.FILE, content)
    config.change({"name": "left wing"})
    assert json.loads(store.load(config.FILE)) == {"name": "left wing"}


def test_a_configuration_of_which_nothing_sound_is_left_can_be_told_anew(board_files):
    config.change({"board": "esp32"})
    (board_files / "hingeline-config.0").write_bytes(b"torn")
    with pytest.raises(store.StoreError):
        config.load()
    config.change({"name": "left wing"})
    assert config.load() == {**config.DEFAULTS, "name": "left wing"}


def test_a_configuration_fills_in_what_it_leaves_out():
    assert config.load() == config.DEFAULTS
    store.save(config.FILE, b'{"board": "esp32", "lines_hz": 100, "readings": 2}')
    assert config.load() == {**config.DEFAULTS, "board": "esp32", "lines_hz": 100, "readings": 2}
