"""A board behind a pty that answers as the firmware does, and streams what a test has it say."""

import os

from tests.posix import pty, tty

from hingeline_protocol.line import LineError, unseal
from hingeline_protocol.messages import (
    Board,
    Err,
    Get,
    Hello,
    Ok,
    Sensor,
    Start,
    State,
    Status,
    Stop,
    pack,
    parse,
)

COUNTS_PER_G = 16384


class PtyBoard:
    """A board of some MPU-6050.

    Attributes
    ----------
    near, port
        The board's end, and what the host opens.
    streaming
        The host asked for a stream, and has not ended it.
    """

    def __init__(self, uid: str, sensors: int) -> None:
        self.near, self._far = pty.openpty()
        tty.setraw(self._far)
        self.port = os.ttyname(self._far)
        self.streaming = False
        self._uid, self._sensors = uid, sensors
        self._heard = b""

    def close(self) -> None:
        """Pull it out."""
        os.close(self.near)
        os.close(self._far)

    def answers(self) -> bytes:
        """Read what the host has asked, and return the answers; a fragment that a host before left is none."""
        *requests, self._heard = (self._heard + os.read(self.near, 4096)).split(b"\n")
        answers = b""
        for line in requests:
            try:
                message = parse(unseal(line))
            except LineError:
                continue
            answers += b"".join(map(pack, self._answer(message)))
        return answers

    def _answer(self, message: tuple[int, ...]) -> list[tuple[object, ...]]:
        request = message[0]
        if isinstance(message, Start | Stop | Hello):
            self.streaming = isinstance(message, Start)
        if isinstance(message, Get):
            return [Err(request, "empty", "nothing is kept")]
        if isinstance(message, Status):
            return [State(request, int(self.streaming), 50, 4, *[0] * (len(State._fields) - 4)), Ok(request)]
        if not isinstance(message, Hello):
            return [Ok(request)]
        sensors = [
            Sensor(request, index, "mpu6050", index, 0x68, COUNTS_PER_G, 200, 44, "absolute", "ok")
            for index in range(self._sensors)
        ]
        return [Board(request, 1, "0.1.0", "pico", self._uid, self._sensors), *sensors, Ok(request)]
