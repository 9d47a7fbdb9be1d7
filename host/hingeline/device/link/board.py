"""One board: the questions that it answers."""

from __future__ import annotations

import threading
from binascii import crc32
from collections.abc import Callable
from typing import Any

from hingeline.device.link import complaints
from hingeline.device.link.conversation import PATIENCE_S, PATIENCES, PROBE_S, Conversation, Deliver, Tap
from hingeline.device.link.login import KeyOf, log_in, no_key, proves_itself
from hingeline.device.samples import SensorInfo
from hingeline.errors import BoardRefused, DamagedFile, HingelineError, UsageProblem
from hingeline_protocol import PROTOCOL, messages

IDENTIFY_S = 10
"""How long a board blinks that is asked to."""
SELF_TEST_S = 6.0  # it waits for the chip to settle, off and on
WIFI_S = 5.0  # switching a radio takes a second


class BoardLink(Conversation):
    """A board that has introduced itself, by its `messages.Board` in `board`.

    `port` is a device, a pty or `socket://host:port`. `deliver` is called in the reading thread with the events of each
    read, the very last of which is a `BoardGone` if the board is lost. `turn`, `on_wait`: `Conversation`.

    Raises `NoBoard`, `PortBusy`, `PortForbidden`, `UsageProblem` (the port can't be had, nothing answers there, or what
    the environment names is no key); `WrongKey` (a board on the network does not let this computer in);
    `WrongFirmware`, `ProtocolMismatch` (what answers is no board, or speaks no protocol of this host); what `key_of`
    raises.
    """

    def __init__(
        self,
        port: str,
        deliver: Deliver,
        turn: threading.Lock | None = None,
        key_of: KeyOf = no_key,
        on_wait: Callable[[], None] = lambda: None,
    ) -> None:
        super().__init__(port, deliver, turn or threading.Lock(), on_wait)
        self._key_of = key_of
        try:
            self.board = self._introduction()
            self._come_to_rest()
        except BaseException:
            super().close()
            raise

    @property
    def sensors(self) -> tuple[SensorInfo, ...]:
        """In the order of the board."""
        return tuple(info for _, info in sorted(self.decoder.sensors.items()))

    def tap(self, record: Tap) -> None:
        """Let `record` have all lines from now on, the first of which introduce the board once more."""
        with self._turn:
            self._record = record
        self.board = self._introduction()

    def untap(self) -> None:
        """Record no more; when this returns, the last line has been recorded."""
        with self._turn:
            self._record = None

    def start(self, lines_hz: int, readings: int) -> None:
        """Stream `lines_hz` lines a second and sensor, each the sum of `readings` readings."""
        self.ask(messages.Rate, lines_hz, readings)
        self.streaming = True
        self.ask(messages.Start)
        self.due = True

    def stop(self) -> None:
        """End the stream; when this returns, every line sent before has been delivered."""
        self.due = False
        self.ask(messages.Stop)
        self.streaming = False

    def status(self) -> Any:
        """Ask for the board's `messages.State`."""
        return self.ask(messages.Status, wants=messages.State)[0]

    def identify(self) -> bool:
        """Let the board blink its LED for some seconds; False if its firmware is too old for that."""
        try:
            self.ask(messages.Identify, IDENTIFY_S)
        except BoardRefused as refusal:
            if refusal.code != "verb":
                raise
            return False
        return True

    def left_out(self) -> tuple[int, int]:
        """Count the readings left out since power-on: because it was busy, and while it collected garbage."""
        state, *more = self.ask(messages.Status, wants=messages.State)
        return state.late, sum(detail.left_out for detail in more if isinstance(detail, messages.Pauses))

    def self_test(self, sensor: int) -> Any:
        """Let the sensor with that index on the board test itself; answers a `messages.Tested`."""
        return self.ask(messages.SelfTest, sensor, wants=messages.Tested, patience_s=SELF_TEST_S)[0]

    def serve_wifi(self, port: int, name: bytes, password: bytes, key: bytes) -> None:
        """Let the board join a network and serve there at a TCP port; nowhere if all are empty and 0. Cable only."""
        self.ask(messages.Wifi, port, name, password, key, patience_s=WIFI_S)

    def proves_itself(self) -> bool:
        """Whether the board proves at a login over TCP that it knows the key, as since the second release."""
        return proves_itself(self)

    def reachable(self) -> Any:
        """Ask where the board serves on the network (`messages.Reachable`)."""
        return self.ask(messages.Address, wants=messages.Reachable)[0]

    def store_calibration(self, sensor: int, data: bytes) -> None:
        """Keep `data` on the board for that sensor, and read it back.

        Raises `UsageProblem` if it is too long or empty, `DamagedFile` if the data read back differ.
        """
        if not 0 < len(data) <= messages.STORED_BYTES:
            size, most = len(data), messages.STORED_BYTES
            text = f"A calibration of {size} bytes can't go on a board, which keeps 1 to {most}"
            raise UsageProblem(text, "Keep it on this computer alone")
        pieces = [data[at : at + messages.PIECE_BYTES] for at in range(0, len(data), messages.PIECE_BYTES)]
        for index, piece in enumerate(pieces):
            self.ask(messages.Put, sensor, index, len(pieces), _mark(data), piece)
        if self.fetch_calibration(sensor) != data:
            cure = "Store it once more: `hingeline calibration choose SENSOR --from host`"
            raise DamagedFile(f"{self.port} keeps another calibration than hingeline sent", cure)

    def keeps_calibration(self, sensor: int, data: bytes) -> bool | None:
        """Whether the board keeps `data` for that sensor, by its checksum; None if it keeps nothing."""
        first = self._piece(sensor)
        return None if first is None else bool(first.crc == _mark(data))

    def fetch_calibration(self, sensor: int) -> bytes | None:
        """Read what the board keeps for that sensor; None if that is nothing. Raises `DamagedFile`."""
        first = self._piece(sensor)
        if first is None:
            return None
        pieces = [first, *(self._piece(sensor, index) for index in range(1, first.pieces))]
        data = b"".join(piece.data for piece in pieces)
        if any(piece.crc != _mark(data) for piece in pieces):
            text = f"The calibration that {self.port} keeps for its sensor {sensor} is damaged"
            raise DamagedFile(text, "Give it this computer's: `hingeline calibration choose SENSOR --from host`")
        return data

    def close(self) -> None:
        """End the stream and free the port."""
        try:
            if self.streaming:
                self.stop()
        except HingelineError:
            pass  # told already, by the board's last event: freeing the port is all that is left to do
        finally:
            super().close()

    def _piece(self, sensor: int, index: int = 0) -> Any:
        try:
            return self.ask(messages.Get, sensor, index, wants=messages.Piece)[0]
        except BoardRefused as refusal:
            if refusal.code == "empty" and index == 0:
                return None
            raise

    def _come_to_rest(self) -> None:
        """End a stream that this host left running."""
        try:
            self.ask(messages.Stop)
        except BoardRefused as refusal:
            if refusal.code != "busy":
                raise
            raise complaints.held(self.port, "another host measures") from refusal

    def _introduction(self) -> Any:
        """Ask for the board's `messages.Board`, logging in where it asks for that."""
        try:
            return self._greet()
        except BoardRefused as refusal:
            if refusal.code != "login":
                raise
        log_in(self, self._key_of)
        return self._greet()

    def _greet(self) -> Any:
        """Say `hello`, after a question that a board answers at once even if it is slow to introduce itself."""
        self.there = False  # answers of long ago don't count
        self.pulse()
        try:
            for _ in range(2):
                board = self.ask(messages.Hello, PROTOCOL, PROTOCOL, wants=messages.Board)[0]
                self.patience_s = max(PATIENCE_S, PATIENCES * self.took_s)
                if self.took_s < PROBE_S:
                    break  # else its start may have held it up
        except BoardRefused as refusal:
            if refusal.code == "version":
                raise complaints.refused_version(self.port, refusal.message) from refusal
            raise
        if self.decoder.foreign:
            raise self.lose(f"{self.port} leads to another board now")
        if board.protocol != PROTOCOL:
            raise complaints.other_version(self.port, board)
        return board


def _mark(data: bytes) -> str:
    return f"{crc32(data):08X}"
