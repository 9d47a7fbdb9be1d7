"""Whatever a board is told, over the wire or in its configuration: it answers once, and it goes on."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.posix import needs_posix
from tests.shared_protocol.test_both_ends import KINDS
from tests.spoilt import FEW, JSON, spoilt_bytes, spoilt_json

from hingeline.device.install.payload import chip_table
from hingeline_firmware import config, store
from hingeline_protocol import messages
from hingeline_protocol.line import LineError, seal, unseal
from hingeline_protocol.messages import About, Err, MessageError, Ok, Status, pack, parse

ONE = """
[[boards.sensors]]
name = "left"
chip = "mpu6050"
"""
REQUESTS = ("hello", "rate", "stop", "status", "selftest", "put", "get", "address", "challenge", "login", "identify")
"""What is asked here: nothing that streams, or that changes the board's name or network."""
OTHERS = (b"start", b"wifi", b"name")
LAST = 65535
DRIVERS = [json.loads(line)["name"] for line in chip_table().splitlines()]
WHOLE = {
    "name": "hangar", "board": "pico", "buses": [{"id": 0, "sda": 4, "scl": 5}],
    "sensors": [{"chip": "mpu6050", "bus": 0, "address": 104}], "lines_hz": 50, "readings": 4, "watchdog": False,
}  # fmt: skip
beside_its_port = needs_posix("a pty, beside which a virtual board's files are")
small = st.integers(-2, 300)
asked = st.sampled_from(REQUESTS).flatmap(
    lambda verb: st.tuples(
        *[small | KINDS["i"] if kind == "i" else KINDS[kind] for kind in messages.TABLE[verb][1]]
    ).map(lambda fields: messages.TABLE[verb][0](*fields))
)


@pytest.fixture(scope="module")
def wire(connected):
    """The wire to a board of one MPU-6050."""
    with connected(ONE, head="speed = 50") as (_, wire):
        wire.ask(Status)
        yield wire


def expected(raw):
    """The request number that one final answer must carry, None if the line is to be passed over."""
    try:
        message = parse(unseal(raw))
    except LineError:
        return 0
    except MessageError as error:
        return error.args[1]
    return message.request if messages.VERBS[type(message)] in REQUESTS else None


def answers_once(wire, raw):
    received = len(wire.log)
    wire.port.write(raw + b"\n" + pack(Status(LAST)))
    last = wire.next(lambda message: isinstance(message, Ok | Err) and message.request == LAST)
    assert isinstance(last, Ok)
    answers = [message for message in wire.log[received:-1] if isinstance(message, Ok | Err)]
    assert "internal" not in [message.code for message in answers if isinstance(message, Err)]
    number = expected(raw) if raw else None
    assert [message.request for message in answers] == ([] if number is None else [number])


@FEW
@given(
    (
        asked.map(pack)
        | asked.map(pack).flatmap(spoilt_bytes)
        | st.binary(max_size=280)
        | st.binary(max_size=240).map(seal)
    )
    .map(lambda line: line.replace(b"\n", b""))
    .filter(lambda line: b"\x03" not in line and not line.startswith(OTHERS))
)
def test_every_line_is_answered_once_and_the_board_goes_on(wire, raw):
    answers_once(wire, raw)


@pytest.fixture(scope="module", autouse=True)
def board_files(tmp_path_factory):
    """An empty folder that plays the board's, and a microcontroller that no pin map knows."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path_factory.mktemp("board"))
        patch.setattr(sys.implementation, "_machine", "Abacus with BEADS", raising=False)
        yield


lines_hz = st.integers(1, 200)
configurations = st.fixed_dictionaries(
    {},
    optional={
        "name": st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=messages.NAME_LIMIT),
        "board": st.none() | st.text(max_size=9),
        "buses": st.none()
        | st.lists(st.integers(0, 127), unique=True).map(
            lambda pins: [
                {"id": number, "sda": sda, "scl": scl}
                for number, (sda, scl) in enumerate(zip(pins[::2], pins[1::2], strict=False))
            ]
        ),
        "sensors": st.none()
        | st.lists(
            st.fixed_dictionaries(
                {
                    "chip": st.sampled_from(DRIVERS),
                    "bus": st.integers(0, 127),
                    "address": st.integers(0, 127),
                }
            ),
            max_size=config.SENSORS_LIMIT,
            unique_by=lambda row: (row["bus"], row["address"]),
        ),
        "watchdog": st.booleans(),
    },
)


@given(configurations, lines_hz.flatmap(lambda hz: st.tuples(st.just(hz), st.integers(1, 200 // hz))))
def test_a_configuration_comes_back_as_it_was(settings, rate):
    settings = {**settings, "lines_hz": rate[0], "readings": rate[1]}
    store.save(config.FILE, json.dumps(settings).encode())
    assert config.load() == {**config.DEFAULTS, **settings}


@given(
    spoilt_json(WHOLE).map(json.dumps).map(str.encode) | JSON.map(json.dumps).map(str.encode) | st.binary(max_size=80)
)
def test_any_other_is_refused_or_has_its_form(content):
    store.save(config.FILE, content)
    try:
        settings = config.load()
    except config.ConfigError:
        return
    assert set(settings) == set(config.DEFAULTS)
    for row in [*(settings["buses"] or ()), *(settings["sensors"] or ())]:
        assert all(isinstance(value, int) for key, value in row.items() if key != "chip")


@pytest.mark.parametrize("content", ["[" * 50_000, '{"sensors": [{"chip": [], "bus": 0, "address": 1}]}'])
def test_a_hostile_configuration_is_refused(content):
    store.save(config.FILE, content.encode())
    with pytest.raises(config.ConfigError):
        config.load()


@beside_its_port
def test_a_bus_on_a_pin_that_the_board_needs_is_told_and_not_opened(connected):
    settings = {"board": "esp32", "buses": [{"id": 0, "sda": 1, "scl": 3}]}
    assert (
        "store",
        "configuration: buses: pin 1 serves the console, expected another; defaults are used",
    ) in troubles(connected, "config", json.dumps(settings).encode())


@beside_its_port
def test_a_sensor_on_a_bus_that_is_not_there_is_told_and_the_board_starts(connected):
    settings = {"board": "pico", "sensors": [{"chip": "mpu6050", "bus": 9, "address": 104}]}
    assert ("range", "sensors: no bus 9 here for mpu6050") in troubles(
        connected, "config", json.dumps(settings).encode()
    )


@beside_its_port
@pytest.mark.parametrize(
    "content",
    [
        b"{",
        b"[1]",
        b"{}",
        b'{"port": "8771", "name": "", "password": "", "key": ""}',
        b'{"port": 8771, "name": "61", "password": "", "key": "00"}',
        b'{"port": 8771, "name": 5, "password": "", "key": "zz"}',
    ],
)
def test_a_network_that_can_not_be_read_is_told_and_the_board_starts(connected, content):
    ((code, text),) = troubles(connected, "wifi", content)
    assert code == "store"
    assert text.startswith("Wi-Fi: WifiError")
    assert text.endswith("it stays off")


def troubles(connected, name, content):
    """What a board complains of at its start, as (code, text), that keeps this content under a name."""
    with connected(ONE) as (bench, wire):
        files = Path(bench.ports["one"]).parent / "one.files"
        (files / f"hingeline-{name}.1").write_bytes(store.pack(9, content))
        bench.do("reset", board="one")
        wire.next(lambda m: isinstance(m, About) and m.reset == "button")
        wire.next(lambda m: isinstance(m, Ok) and m.request == 0)
        starts = [place for place, message in enumerate(wire.log) if isinstance(message, About)]
        # what is told before is of its former life, which may end amid a transfer
        return [(message.code, message.text) for message in wire.log[starts[-1] :] if isinstance(message, Err)]
