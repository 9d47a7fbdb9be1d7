"""`hingeline install` through the real mpremote on the real MicroPython."""

import importlib.util
import json
import os
import signal
import subprocess
import sys
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from time import perf_counter, sleep

import pytest
import serial
from tests.posix import pty, tty

from hingeline.device.description import wiring_table
from hingeline.device.install import installing, prompt
from hingeline.device.install.payload import firmware_version, payload
from hingeline.device.install.pin_maps import pin_maps
from hingeline.device.install.prompt import Remote, RemoteFailure, has_micropython, restart
from hingeline.device.install.survey import OLDEST, Survey, check_room, check_runs
from hingeline.device.link import board, conversation
from hingeline.errors import UsageProblem, WrongFirmware
from hingeline_firmware import store

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[4]
SOURCES = {"hingeline_firmware": ROOT / "firmware", "hingeline_protocol": ROOT / "shared_protocol"}
OWN = {
    "hingeline-config.0": b"board's own",
    "hingeline-calibration-104.1": bytes(range(256)),
    "notes.txt": b"mine",
}
DEADLINE_S = 60.0
ODD_NAME = 'it\'s "left" \\ {wing}'
"""Quotes of both kinds, a backslash and braces: code for the board, JSON on it and the wire all have to bear them."""


def install(port, *options):
    command = [sys.executable, "-m", "hingeline", "install", "--port", port, *options]
    return subprocess.run(command, check=False, capture_output=True, text=True, timeout=DEADLINE_S)


def hashes(files):
    return {path: sha256(content).hexdigest() for path, content in files.items()}


TABLES = {"lib/hingeline_firmware/chips.jsonl", "lib/hingeline_firmware/pinmaps.jsonl"}
COMPILED = b"M\x06"
"""How a compiled file of version 6 begins: MicroPython's docs/reference/mpyfiles.rst."""


def wanted(*, sources=False):
    """What a board must hold, by the folders of the sources: each module compiled, or as it is."""
    held = payload(sources=sources)
    paths = {
        path.relative_to(folder) for package, folder in SOURCES.items() for path in (folder / package).rglob("*.py")
    }
    suffix = ".py" if sources else ".mpy"
    modules = {f"lib/{path.with_suffix(suffix)}" for path in paths if path.name != "main.py"}
    assert set(held) == {"main.py", *TABLES, *modules}
    return dict(held)


def hold(unix_board, files):
    """Let a board hold these files too."""
    for path, content in files.items():
        (unix_board.files / path).parent.mkdir(parents=True, exist_ok=True)
        (unix_board.files / path).write_bytes(content)


def nothing(unix_board):
    """Leave a board new."""
    return {}


def old_version(unix_board):
    """Put an earlier version on a board: every file otherwise, and one there is no more."""
    hold(unix_board, {path: b"# hingeline_firmware 0.0.9\n" + content for path, content in wanted().items()})
    hold(unix_board, {"lib/hingeline_firmware/adxl999.py": b"gone since\n", **OWN})
    return OWN


def stream_once(port):
    """Let a board stream, which arms its watchdog."""
    link = board.BoardLink(port, print)
    link.start(50, 4)
    link.close()


def test_a_new_board_gets_every_file_starts_and_tells_how_to_wire_what_is_missing(unix_board):
    done = install(unix_board.port, "--board", "pico")
    assert done.returncode == 0, done.stderr
    files = unix_board.tree
    assert files.pop("hingeline-config.0").endswith(b'\n{"board": "pico"}')
    assert hashes(files) == hashes(wanted())
    assert f"uid ffffffffffffffff, firmware {firmware_version()}" in done.stdout
    assert done.stdout.count("nothing answers") == 2
    assert wiring_table(pin_maps()["pico"]) in done.stdout
    assert unix_board.starts == 2
    again = json.loads(install(unix_board.port, "--json").stdout)
    assert (again["copied"], again["removed"], again["unchanged"]) == ([], [], len(wanted()))
    assert (again["board"], again["sensors"], unix_board.starts) == ("pico", [], 3)


def test_each_file_is_told_as_its_turn_comes(unix_board):
    contents = {"lib/mine/one.py": b"pass\n", "two.txt": b"2"}
    told: list[str] = []
    Remote(unix_board.port).put(contents, told.append)
    assert told == list(contents)
    assert contents.items() <= unix_board.tree.items()


def test_a_board_that_comes_to_no_end_is_left(unix_board, monkeypatch):
    monkeypatch.setattr(prompt, "RUN_S", 2.0)
    with pytest.raises(RemoteFailure, match="no end after 2 s"):
        Remote(unix_board.port).execute("while True: pass")


def test_an_update_copies_what_differs_removes_what_is_stale_and_keeps_the_rest(unix_board):
    theirs = {**OWN, "lib/other/theirs.py": b"pass\n"}
    hold(unix_board, {**wanted(), **theirs})
    hold(unix_board, {"lib/hingeline_firmware/streamer.mpy": b"an earlier version\n"})
    hold(unix_board, {"lib/hingeline_firmware/adxl999.py": b"gone since\n"})
    done = json.loads(install(unix_board.port, "--json").stdout)
    assert done["copied"] == ["lib/hingeline_firmware/streamer.mpy"]
    assert done["removed"] == ["lib/hingeline_firmware/adxl999.py"]
    assert hashes(unix_board.tree) == hashes({**wanted(), **theirs})


def test_an_update_from_drivers_beside_the_program_leaves_none_of_them(unix_board):
    """A `chips.py` beside the folder `chips` must not decide which drivers run."""
    loose = {f"lib/hingeline_firmware/{name}.py": b"raise ImportError" for name in ("chips", "mpu6050", "probe")}
    hold(unix_board, {path: content for path, content in wanted().items() if "/chips/" not in path} | loose)
    done = json.loads(install(unix_board.port, "--json").stdout)
    assert set(done["removed"]) == loose.keys()
    assert all("/chips/" in path for path in done["copied"])
    assert hashes(unix_board.tree) == hashes(wanted())
    assert unix_board.starts == 2


@pytest.mark.parametrize("before", [nothing, old_version])
def test_an_installation_cut_short_never_starts_a_mix_and_a_repetition_repairs_it(unix_board, before):
    kept = before(unix_board)
    first = min(path for path in wanted() if path != "main.py")
    cut = subprocess.Popen(
        [sys.executable, "-m", "hingeline", "install", "--port", unix_board.port],
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    deadline_s = perf_counter() + DEADLINE_S
    while unix_board.tree.get(first) != wanted()[first] and perf_counter() < deadline_s:
        sleep(0.001)
    os.killpg(cut.pid, signal.SIGKILL)
    assert cut.wait() == -signal.SIGKILL
    assert "main.py" not in unix_board.tree
    assert not wanted().items() <= unix_board.tree.items()
    done = install(unix_board.port)
    assert done.returncode == 0, done.stderr
    assert hashes(unix_board.tree) == hashes({**wanted(), **kept})


def test_a_name_and_a_watchdog_are_kept_over_an_update_which_an_armed_one_does_not_break_off(unix_board):
    done = install(unix_board.port, "--board", "pico", "--name", ODD_NAME, "--watchdog")
    assert f'pico "{ODD_NAME}" at ' in done.stdout, done.stderr
    hold(
        unix_board,
        {"lib/hingeline_firmware/streamer.mpy": wanted()["lib/hingeline_firmware/streamer.mpy"] + b"\n"},
    )
    stream_once(unix_board.port)
    link = board.BoardLink(unix_board.port, print)
    assert link.decoder.about.watchdog == "armed"
    link.close()
    starts = unix_board.starts
    told = json.loads(install(unix_board.port, "--json").stdout)
    assert told["copied"] == ["lib/hingeline_firmware/streamer.mpy"]
    assert (told["name"], told["watchdog"]) == (ODD_NAME, "ready")
    assert unix_board.starts == starts + 2, "Ctrl-C restarted it before its prompt was used, and the end of the work"
    assert hashes(wanted()).items() <= hashes(unix_board.tree).items()
    again = install(unix_board.port, "--no-watchdog", "--json").stdout
    assert json.loads(again)["watchdog"] == "off"


def test_a_configuration_that_the_board_can_not_follow_gets_its_own_cure_and_all_else_is_done(unix_board):
    kept = json.dumps({"lines_hz": 999}).encode()
    hold(unix_board, {"hingeline-config.0": store.pack(1, kept)})
    done = install(unix_board.port, "--name", "left wing")
    assert done.returncode == 2
    assert "can't be configured so: 999 lines/s of 4 readings" in done.stderr
    assert "KEY= takes a key back to its default" in done.stderr
    assert hashes(unix_board.tree) == hashes({**wanted(), "hingeline-config.0": store.pack(1, kept)})
    assert unix_board.starts == 2
    told = install(unix_board.port)
    assert told.returncode == 0, told.stderr
    assert "configuration: 999 lines/s" in told.stdout


@pytest.mark.parametrize("name", ["x" * 33, "café", "a\tb"])
def test_a_name_that_no_board_can_have_is_told(name):
    done = install("/dev/none", "--name", name)
    assert done.returncode == 2
    assert "can't be on the wire" in done.stderr


def test_a_program_of_the_user_is_kept_under_another_name(unix_board):
    (unix_board.files / "main.py").write_bytes(b"print('blink')\n")
    assert "kept as main-before-hingeline.py" in install(unix_board.port).stdout
    assert unix_board.tree["main-before-hingeline.py"] == b"print('blink')\n"
    assert unix_board.tree["main.py"] == wanted()["main.py"]


def test_a_board_that_starts_slowly_is_listened_to_until_it_has(unix_board, monkeypatch):
    assert has_micropython(unix_board.port)[0]
    hold(unix_board, wanted())
    with (unix_board.files.parent / "shadow" / "machine.py").open("a") as machine:
        machine.write("import time\ntime.sleep(3)\n")
    monkeypatch.setattr(installing, "BOOT_S", 0.0)
    monkeypatch.setattr(conversation, "START_S", 0.5)
    restart(unix_board.port)
    with closing(installing.open_started(unix_board.port)) as link:
        assert link.board.uid == "ff" * 8


def test_what_keeps_the_program_from_starting_is_named_once_the_prompt_is_back(unix_board):
    hold(unix_board, wanted())
    (unix_board.files.parent / "shadow" / "machine.py").write_text("def unique_id(): return b''\n")
    done = install(unix_board.port)
    assert done.returncode == 5
    assert "does not introduce itself: " in done.stderr
    assert "ImportError: can't import name I2C" in done.stderr


def test_a_busy_port_is_told_with_status_4(unix_board):
    with serial.Serial(unix_board.port, exclusive=True):
        done = install(unix_board.port)
    assert done.returncode == 4
    assert f"{unix_board.port} is held by" in done.stderr


def test_no_micropython_is_told_with_the_cure_and_status_5():
    near, far = pty.openpty()
    tty.setraw(far)
    os.write(near, b"ets Jul 29 2019 12:21:46\r\nrst:0x1 (POWERON_RESET)\r\n")
    done = install(os.ttyname(far))
    os.close(near)
    os.close(far)
    assert done.returncode == 5
    assert "No MicroPython prompt answers" in done.stderr
    assert "micropython.org/download" in done.stderr


def test_what_is_silent_is_told_as_such():
    near, far = pty.openpty()
    tty.setraw(far)
    done = install(os.ttyname(far))
    os.close(near)
    os.close(far)
    assert "; it says nothing." in done.stderr


def test_no_port_and_no_cable_are_told():
    assert install("/dev/none").returncode == 3
    assert install("socket://127.0.0.1:9").returncode == 2
    assert "Choose one of esp32, esp32_c3" in install("/dev/none", "--board", "abacus").stderr


def survey(**changes):
    usual = {
        "name": "micropython",
        "version": OLDEST,
        "machine": "Raspberry Pi Pico with RP2040",
        "free_bytes": 800_000,
        "checksums": {},
        "foreign_main": False,
        "mpy": 6,
    }
    return Survey(**{**usual, **changes})


def test_another_python_and_an_old_version_are_refused():
    check_runs("COM3", survey(), "Get it")
    with pytest.raises(WrongFirmware, match=r"COM3 runs circuitpython 9.2.1, not MicroPython"):
        check_runs("COM3", survey(name="circuitpython", version=(9, 2, 1)), "Get it")
    with pytest.raises(WrongFirmware, match=r"runs MicroPython 1.19.1, expected 1.20 or newer"):
        check_runs("COM3", survey(version=(1, 19, 1)), "Get it")


def test_a_full_board_is_refused_before_anything_is_changed():
    check_room("COM3", survey(free_bytes=None))
    check_room("COM3", survey())
    with pytest.raises(UsageProblem, match="COM3 has 39 kB free"):
        check_room("COM3", survey(free_bytes=40_000))


def test_what_boots_the_board_comes_last():
    assert list(wanted())[-1] == list(wanted(sources=True))[-1] == "main.py"


def test_modules_are_compiled_for_the_version_that_boards_run_and_take_half_of_the_room():
    modules = {path: content for path, content in wanted().items() if path.endswith(".mpy")}
    assert all(content.startswith(COMPILED) for content in modules.values())
    sources = {path: content for path, content in wanted(sources=True).items() if path.endswith(".py")}
    assert sum(map(len, modules.values())) < sum(map(len, sources.values())) / 2


def test_a_board_gets_sources_on_request_and_is_configured_all_the_same(unix_board):
    done = install(unix_board.port, "--board", "pico", "--sources")
    assert done.returncode == 0, done.stderr
    files = unix_board.tree
    assert hashes(wanted(sources=True)).items() <= hashes(files).items()
    assert not [path for path in files if path.endswith(".mpy")]
    again = install(unix_board.port, "--board", "pico")
    assert again.returncode == 0, again.stderr
    assert not [path for path in unix_board.tree if path.startswith("lib/") and path.endswith(".py")]


@pytest.mark.parametrize("version", [0, 5, 7])
def test_a_board_that_runs_no_compiled_files_of_this_version_gets_sources(version):
    assert survey(mpy=version).wanted == wanted(sources=True)


def test_without_the_compiler_a_board_gets_sources(monkeypatch):
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    assert survey().wanted == wanted(sources=True)


def test_no_empty_folder_is_left_that_would_hide_a_module_of_its_name(unix_board):
    hold(unix_board, {"lib/hingeline_firmware/gone/deep/one.py": b"", "lib/hingeline_firmware/gone/two.py": b"", **OWN})
    assert install(unix_board.port).returncode == 0
    assert not (unix_board.files / "lib" / "hingeline_firmware" / "gone").exists()


def test_the_wiring_table_has_the_pins_of_the_boards():
    # Raspberry Pi Pico datasheet, pinout: GP4 to GP7 are pins 6, 7, 9, 10; 3V3(OUT) is pin 36.
    pico = pin_maps()["pico"]
    assert [(bus.sda, bus.scl) for bus in pico.buses] == [
        ("GP4 (pin 6)", "GP5 (pin 7)"),
        ("GP6 (pin 9)", "GP7 (pin 10)"),
    ]
    assert pico.supply == "3V3(OUT) (pin 36)"
    for pin_map in pin_maps().values():
        lines = wiring_table(pin_map).splitlines()
        assert len(lines) == 8
        assert max(map(len, lines)) <= 80
