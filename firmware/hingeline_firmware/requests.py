"""Answers the requests of a host."""

import gc
from binascii import crc32

from hingeline_firmware import config, store, wifi
from hingeline_firmware.registers import SetupError
from hingeline_protocol import PROTOCOL, messages
from hingeline_protocol.line import LineError, unseal
from hingeline_protocol.login import NONCE_BYTES
from hingeline_protocol.messages import PIECE_BYTES, STORED_BYTES, MessageError

IDENTIFY_S = 60
"""Longest that a board blinks to be identified."""
_BEFORE_LOGIN = (messages.Prove, messages.Challenge, messages.Login)


class Refusal(Exception):
    """A request that is refused. `args` is (code, text)."""


def describe(error):
    """Name an error that nothing expected, by its type and text."""
    return "%s %s" % (type(error).__name__, error)


class Requests:
    """Answers the lines of one host: the details of a request, then one `ok` or `err`.

    A host with a `login` has to prove first that it knows the key; a host without one is on the cable.
    """

    def __init__(self, board, streamer, console, login=None):
        self._board = board
        self._streamer = streamer
        self._console = console
        self._login = login
        self._incoming = None
        self._kept = None
        self._answers = {
            messages.Hello: self._hello,
            messages.Rate: self._rate,
            messages.Start: self._start,
            messages.Stop: self._stop,
            messages.Status: self._status,
            messages.SelfTest: self._self_test,
            messages.Put: self._put,
            messages.Get: self._get,
            messages.Wifi: self._wifi,
            messages.Address: self._address,
            messages.Prove: self._prove,
            messages.Challenge: self._challenge,
            messages.Login: self._log_in,
            messages.Identify: self._identify,
        }

    def answer(self, raw):
        """Answer one received line."""
        try:
            message = messages.parse(unseal(raw))
        except LineError as error:
            return self._send(
                messages.Err(0, "checksum", "a line came damaged (%s): repeat the request" % error.args[0])
            )
        except MessageError as error:
            code, request = error.args
            return self._send(messages.Err(request, code, "expected a request of protocol %d" % PROTOCOL))
        if type(message) not in self._answers:
            return None  # an echo of the board's own messages must not be answered
        try:
            self._check_login(message)
            self._answers[type(message)](message)
        except Refusal as refusal:
            code, text = refusal.args
            return self._send(messages.Err(message.request, code, text))
        except Exception as error:
            return self._send(messages.Err(message.request, "internal", describe(error)))
        return self._send(messages.Ok(message.request))

    def _send(self, message):
        self._console.send(messages.pack(message))

    def _hello(self, hello):
        if not self._streamer.running:
            self._board.find_sensors()
        self._board.introduce(hello.request, self._console)
        if not hello.lowest <= PROTOCOL <= hello.highest:
            text = "the board speaks protocol %d, the host %d to %d: update the older of them"
            raise Refusal("version", text % (PROTOCOL, hello.lowest, hello.highest))

    def _check_login(self, message):
        if self._login is None or self._login.passed or type(message) in _BEFORE_LOGIN:
            return
        raise Refusal("login", "this host has not proved that it knows the key: prove, then login")

    def _check_stream(self):
        if self._streamer.running and self._streamer.console is not self._console:
            raise Refusal("busy", "another host measures")

    def _rate(self, rate):
        self._check_stream()
        try:
            config.check_rate(rate.lines_hz, rate.readings)
        except config.ConfigError as error:
            raise Refusal("range", str(error)) from error
        self._streamer.set_rate(rate.lines_hz, rate.readings)

    def _start(self, _):
        self._check_stream()
        self._board.watchdog.arm()
        self._streamer.console = self._console
        self._streamer.start()

    def _stop(self, _):
        self._check_stream()
        self._streamer.stop()

    def _status(self, status):
        streamer = self._streamer
        self._send(
            messages.State(
                status.request,
                int(streamer.running),
                streamer.lines_hz,
                streamer.readings,
                self._board.uptime_s,
                streamer.lines,
                streamer.late,
                streamer.jitter.mean_us,
                streamer.jitter.worst_us,
                self._console.dropped,
                getattr(gc, "mem_free", int)(),
            )
        )
        self._send(messages.Pauses(status.request, streamer.collections, streamer.paused))

    def _identify(self, request):
        if not 0 <= request.seconds <= IDENTIFY_S:
            raise Refusal("range", "%d seconds: expected 0 to %d" % (request.seconds, IDENTIFY_S))
        self._board.led.identify(request.seconds)

    def _self_test(self, request):
        sensor = self._sensor(request.sensor)
        if self._streamer.running:
            raise Refusal("busy", "the stream runs: stop it, then test")
        if sensor.state != "ok":
            raise Refusal("chip", sensor.trouble)
        try:
            result = sensor.self_test()
        except OSError as error:
            raise Refusal("chip", "no answer in the test, error %s" % error.errno) from error
        except SetupError as error:
            raise Refusal("chip", error.args[0]) from error
        if result is None:
            raise Refusal("unsupported", "%s has no self-test" % sensor.chip.name)
        self._send(messages.Tested(request.request, request.sensor, *result))

    def _put(self, put):
        self._check_cable()  # nothing after the login is signed
        self._sensor(put.sensor)
        if put.piece == 0:
            if not 1 <= put.pieces <= STORED_BYTES // PIECE_BYTES:
                raise Refusal("range", "%d pieces: expected 1 to %d" % (put.pieces, STORED_BYTES // PIECE_BYTES))
            self._incoming = [put.sensor, put.pieces, put.crc, []]
        incoming = self._incoming
        if incoming is None and (put.sensor, put.piece, put.pieces, put.crc) == self._kept:
            return  # the last piece, repeated because our answer got lost
        if incoming is None or incoming[:3] != [put.sensor, put.pieces, put.crc]:
            raise Refusal("piece", "piece %d without its piece 0: begin again" % put.piece)
        pieces = incoming[3]
        if put.piece == len(pieces) - 1 and put.data == pieces[-1]:
            return  # repeated because our answer got lost
        last = put.piece == put.pieces - 1
        if (
            put.piece != len(pieces)
            or not 1 <= len(put.data) <= PIECE_BYTES
            or not (last or len(put.data) == PIECE_BYTES)
        ):
            raise Refusal("piece", "piece %d of %d bytes: expected piece %d" % (put.piece, len(put.data), len(pieces)))
        pieces.append(put.data)
        if last:
            self._incoming = None
            self._keep(put, b"".join(pieces))
            self._kept = (put.sensor, put.piece, put.pieces, put.crc)

    def _keep(self, put, content):
        if put.crc != "%08X" % crc32(content):
            raise Refusal("piece", "the whole has CRC-32 %08X, expected %s: begin again" % (crc32(content), put.crc))
        try:
            store.save(_file(put.sensor), content)
        except (OSError, store.StoreError) as error:
            raise Refusal("store", str(error)) from error

    def _get(self, get):
        self._sensor(get.sensor)
        try:
            content = store.load(_file(get.sensor))
        except (OSError, store.StoreError) as error:
            raise Refusal("store", str(error)) from error
        if content is None:
            raise Refusal("empty", "nothing is stored for sensor %d" % get.sensor)
        pieces = (len(content) + PIECE_BYTES - 1) // PIECE_BYTES
        if not 0 <= get.piece < pieces:
            raise Refusal("range", "piece %d: expected 0 to %d" % (get.piece, pieces - 1))
        data = content[get.piece * PIECE_BYTES : (get.piece + 1) * PIECE_BYTES]
        crc = "%08X" % crc32(content)
        self._send(messages.Piece(get.request, get.sensor, get.piece, pieces, crc, data))

    def _wifi(self, settings):
        self._check_cable()
        if self._streamer.running:
            raise Refusal("busy", "the stream runs: stop it first")
        if not wifi.available():
            raise Refusal("unsupported", "this board has no Wi-Fi")
        try:
            wifi.save(settings.port, settings.name, settings.password, settings.key)
        except wifi.WifiError as error:
            raise Refusal("range", error.args[0]) from error
        except (OSError, store.StoreError) as error:
            raise Refusal("store", str(error)) from error
        self._board.open_gate()

    def _address(self, request):
        gate = self._board.gate
        address, port = (wifi.NOT_JOINED, 0) if gate is None else (gate.station.address(), gate.port)
        self._send(messages.Reachable(request.request, address, port))

    def _check_cable(self):
        if self._login is not None:
            raise Refusal("cable", "over the cable only")

    def _prove(self, request):
        self._check_guest()
        if len(request.nonce) != NONCE_BYTES:
            raise Refusal("range", "a nonce of %d bytes: expected %d" % (len(request.nonce), NONCE_BYTES))
        nonce, proof = self._login.answer(request.nonce)
        self._send(messages.Proof(request.request, self._board.uid, nonce, proof))

    def _challenge(self, _):
        self._check_guest()
        raise Refusal("login", "the login of the first release is refused: update hingeline on the computer")

    def _log_in(self, login):
        self._check_guest()
        self._login.check(login.proof)
        if self._login.failed:
            raise Refusal("login", "the key is another one, or the nonce was used")

    def _check_guest(self):
        if self._login is None:
            raise Refusal("cable", "the cable needs no key")

    def _sensor(self, number):
        for sensor in self._streamer.sensors:
            if sensor.number == number:
                return sensor
        raise Refusal("sensor", "no sensor %d here" % number)


def _file(sensor):
    return "calibration-%d" % sensor
