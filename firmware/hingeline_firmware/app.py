"""The board's program: introduce itself, then stream and answer until Ctrl-C."""

import sys
from binascii import hexlify
from time import sleep_ms, ticks_add, ticks_diff, ticks_ms

from machine import unique_id

from hingeline_firmware import buses, config, pins, wifi
from hingeline_firmware.console import Console
from hingeline_firmware.led import Led
from hingeline_firmware.requests import Requests, describe
from hingeline_firmware.store import StoreError
from hingeline_firmware.streamer import Streamer
from hingeline_firmware.watchdog import Watchdog, reset_cause
from hingeline_protocol import PROTOCOL, messages

VERSION = "0.1.0"
_IDLE_MS = 10
_AFTER_ERROR_MS = 200
_TOO_SLOW = (
    "reading the sensors takes %d us, so at most %d readings/s: take fewer, or bus_hz=BUS:400000 and short leads"
)
_NO_PIN_MAP = "no pin map for %s: name one with board=, or give its pins with buses=BUS:SDA:SCL"


class Board:
    """This board: its configuration, its sensors, its introduction.

    Attributes
    ----------
    name
        Given by its owner; may be empty.
    watchdog
        Fed after each step that ended.
    """

    def __init__(self, console):
        self._console = console
        self._trouble = []
        self.uid = hexlify(unique_id()).decode()
        self.uptime_s = 0
        self._second_ms = ticks_ms()
        try:
            self._config = config.load()
        except (config.ConfigError, StoreError) as error:
            self._config = dict(config.DEFAULTS)
            self._trouble.append(("store", "configuration: %s; defaults are used" % error))
        pin_map = pins.find(self._config["board"]) or {"name": "unknown", "controllers": 2, "buses": (), "spi": ()}
        if pin_map["name"] == "unknown" and not self._config["buses"]:
            self._trouble.append(("range", _NO_PIN_MAP % sys.implementation._machine))
        self._pin_map_name = pin_map["name"]
        self.name = self._config["name"]
        self.watchdog = Watchdog(self._config["watchdog"])
        self.led = Led(pin_map.get("led"))
        self._open_buses(self._config["buses"] or pin_map["buses"], pin_map["controllers"], pin_map["spi"])
        self.streamer = Streamer(console, self._config["lines_hz"], self._config["readings"])
        self.requests = Requests(self, self.streamer, console)
        self.find_sensors()
        self.gate = None
        try:
            self.open_gate()
        except (ImportError, OSError, StoreError, wifi.WifiError) as error:
            self._trouble.append(("store", "Wi-Fi: %s; it stays off" % describe(error)))

    def _open_buses(self, rows, controllers, spi):
        """Open the buses that this microcontroller has, and report sensors on others."""
        self._buses = {}
        try:
            self._buses = buses.open_buses(rows, controllers, self._config["bus_hz"] or ())
            if self._config["spi"]:
                self._buses.update(buses.open_spi(spi))
        except (ValueError, OSError) as error:
            self._trouble.append(("range", "buses: %s; none is used" % describe(error)))
        for row in self._config["sensors"] or ():
            if row["bus"] not in self._buses:
                self._trouble.append(("range", "sensors: no bus %d here for %s" % (row["bus"], row["chip"])))

    def open_gate(self):
        """Serve over Wi-Fi where the store says, if it does. Raises what `wifi.load` and `Gate` raise."""
        if self.gate is not None:
            self.gate.close()
            self.gate = None
        settings = wifi.load()
        if settings is not None:
            from hingeline_firmware.gate import Gate  # much memory, for those alone who use it

            self.gate = Gate(settings, self, self.streamer)

    def find_sensors(self):
        """Ask again for the sensors: one may have been plugged in."""
        rows = self._config["sensors"]
        if rows is None:
            self.streamer.sensors = buses.find_sensors(self._buses)
        else:
            self.streamer.sensors = buses.configured_sensors(rows, self._buses)
        self._reading_us = sum([sensor.measure_us() for sensor in self.streamer.sensors])

    def introduce(self, request, console):
        """Send a host the board, its sensors, and what is wrong with any of them."""
        sensors = self.streamer.sensors
        _send(console, messages.Board(request, PROTOCOL, VERSION, self._pin_map_name, self.uid, len(sensors)))
        _send(console, messages.About(request, reset_cause(), self.watchdog.state, self.name))
        for sensor in sensors:
            self.watchdog.feed()  # a bus that answers at every address has many, and each line may wait for its host
            _send(console, sensor.introduce(request))
            if sensor.trouble:
                _send(console, messages.Err(0, "chip", sensor.trouble))
            _send(console, sensor.introduce_timing(request))
        for code, text in self._trouble:
            _send(console, messages.Err(0, code, text))
        if self._reading_us * self.streamer.lines_hz * self.streamer.readings > 1000000:
            text = _TOO_SLOW % (self._reading_us, 1000000 // self._reading_us)
            _send(console, messages.Err(0, "range", text))

    def announce(self):
        """Introduce unasked."""
        self.introduce(0, self._console)
        _send(self._console, messages.Ok(0))

    def step(self):
        """Take the next readings, or wait a little; then answer a request if one has come."""
        if self.streamer.running:
            self.streamer.step()
        else:
            sleep_ms(_IDLE_MS)
        self.watchdog.feed()
        line = self._console.line()
        if line:
            self.requests.answer(line)
            self.watchdog.feed()
        if self.gate is not None:
            self.gate.step()
            self.watchdog.feed()
        wrong = False
        for sensor in self.streamer.sensors:
            wrong |= sensor.state != "ok"
        self.led.step(self.streamer.running, wrong)
        self._count_seconds()

    def _count_seconds(self):
        passed_s = ticks_diff(ticks_ms(), self._second_ms) // 1000
        if passed_s:
            self.uptime_s += passed_s
            self._second_ms = ticks_add(self._second_ms, passed_s * 1000)

    def fail(self, error):
        """Report an error that nothing expected; the board goes on."""
        _send(self._console, messages.Err(0, "internal", describe(error)))
        sleep_ms(_AFTER_ERROR_MS)


def _send(console, message):
    console.send(messages.pack(message))


def run():
    """Serve the host until Ctrl-C."""
    board: "Board | None" = None
    try:
        board = Board(Console())
        board.announce()
        while True:
            try:
                board.step()
            except Exception as error:
                board.fail(error)
    except KeyboardInterrupt:
        if board is not None:
            board.watchdog.leave()
