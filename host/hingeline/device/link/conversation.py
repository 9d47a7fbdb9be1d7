"""Questions and answers over a port, while the stream is read beside them."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from queue import Empty, SimpleQueue
from time import monotonic, monotonic_ns, sleep
from typing import Any

from hingeline.device.link import beat, complaints
from hingeline.device.link.decoder import Decoder, Line, Splitter
from hingeline.device.link.ports import open_port
from hingeline.device.link.times import Arrived
from hingeline.device.samples import BoardGone, Sample, SensorFault
from hingeline.errors import BoardLost, HingelineError, PortBusy, in_words
from hingeline_protocol.messages import Err, Ok, State, Status, pack

ANSWER_S = (0.4,) * 5
"""Patience with each try of a request; in all as long as with a board that is to stream."""
QUIET_S = 0.2
"""While it streams, a board that is silent for this is asked for its status."""
SILENCES, SILENCES_TCP = 10, 2
"""After so many unanswered questions it is lost. That a device is pulled out the system reports at once; that the far
end of a TCP connection is gone, silence alone may show."""
IDLE_S = 0.5
RECEIVED_BYTES = 200
PULSE = 65535
"""The request number of questions whose answer nobody waits for."""

Deliver = Callable[[Arrived | HingelineError], None]
Tap = Callable[[Sequence[Line]], None]


class Conversation:
    """One thread reads the port: samples and faults go to `deliver`, answers to the thread that asked.

    `turn` is held while lines are tapped and delivered: with one lock for several boards, both happen in one order.
    """

    def __init__(self, port: str, deliver: Deliver, turn: threading.Lock) -> None:
        self.port = port
        self.decoder = Decoder(port)
        self.received = b""
        """The first bytes, for a message about what is no board."""
        self.streaming = False
        """Events are delivered."""
        self.there = False
        """A board is there: something has been answered since it was asked to introduce itself, however late."""
        self.slowness = 1.0
        """All patience with this board is longer than usual by this factor."""
        self.due = False
        """Lines are due: a silent board is lost, and one that says it does not stream has restarted."""
        self.tap: Tap | None = None
        """Gets the lines of each read before they are delivered. What it raises is delivered, and ends it."""
        self._deliver = deliver
        self._turn = turn
        self._answers: SimpleQueue[Any] = SimpleQueue()
        self._request = 0
        self._awaited: int | None = None
        self._lost: HingelineError | None = None
        self._turned_away: PortBusy | None = None
        self._closing = False
        self._asking = threading.Lock()
        self._sending = threading.Lock()
        self._channel = open_port(port)
        self._thread = threading.Thread(target=self._read, name=f"reads {port}", daemon=True)
        self._thread.start()

    def ask(self, message: Any, *fields: Any, wants: Any = None, patience_s: tuple[float, ...] = ANSWER_S) -> list[Any]:
        """Send a request until it is answered by messages among which is a `wants`; its end is left out.

        Raises `BoardRefused` (the board answered `err`); `BoardLost` (the board did not answer, or is gone); `PortBusy`
        (it serves another host); `HingelineError` (the reading thread failed).
        """
        for limit_s in patience_s:
            answer = self.ask_once(message, *fields, limit_s=limit_s)
            if answer is not None and (wants is None or any(isinstance(detail, wants) for detail in answer)):
                return answer
        raise self.lose(f"{self.port} did not answer, asked {len(patience_s)} times")

    def pulse(self) -> None:
        """Send a question that every board answers at once; nobody waits for the answer."""
        self._send(Status(PULSE))

    def ask_once(self, message: Any, *fields: Any, limit_s: float) -> list[Any] | None:
        """Send a request; its answer without the end, or None if no end came in time."""
        with self._asking:
            self._request = self._awaited = self._request % (PULSE - 1) + 1
            try:
                self._send(message(self._request, *fields))
                answer = self._answer(self._request, monotonic() + limit_s * self.slowness)
            finally:
                self._awaited = None
        if not answer:
            return None
        if isinstance(answer[-1], Err):
            raise complaints.refusal(self.port, message, answer[-1])
        return answer[:-1]

    def lose(self, reason: str, cause: OSError | None = None) -> HingelineError:
        """Give the board up, and return the error to raise: this one, or the one that it was given up for before."""
        cure = "Check its cable and plug it in again; what was recorded until then is kept"
        return self._give_up(BoardLost(reason, cure), cause)

    def _give_up(self, error: HingelineError, cause: Exception | None) -> HingelineError:
        """Pass on, once, to those who iterate or wait for an answer, why nothing more comes."""
        with self._sending:
            if self._lost is not None:
                return self._lost
            self._lost = error
            error.__cause__ = cause
        self._answers.put(error)
        if self.decoder.sensors:
            now_ns = monotonic_ns()
            gone = BoardGone(now_ns * 1e-9, error) if isinstance(error, BoardLost) else None
            self._deliver(Arrived(now_ns, self.port, [gone]) if gone else error)
        return error

    def close(self) -> None:
        """Free the port."""
        self._closing = True
        self._channel.wake()
        self._thread.join()
        self._channel.close()

    def _send(self, message: Any) -> None:
        if self._lost is not None:
            raise self._turned_away or self._lost
        try:
            with self._sending:
                self._channel.write(b"\n" + pack(message))  # whatever fragment came before, it has ended
        except OSError as error:
            raise self.lose(f"{self.port} takes no more bytes ({in_words(error)})", error) from error

    def _answer(self, request: int, deadline_s: float) -> list[Any]:
        """Wait for the messages that answer `request`, the last being its end; empty if that never came."""
        answer = []
        while (left_s := deadline_s - monotonic()) > 0:
            try:
                message = self._answers.get(timeout=left_s)
            except Empty:
                break
            if isinstance(message, HingelineError):
                raise self._turned_away or message
            if message.request == request:
                answer.append(message)
                if isinstance(message, Ok | Err):
                    return answer
            elif isinstance(message, Err) and message.request == 0 and message.code == "checksum":
                break
        return []

    def _read(self) -> None:
        """Read until the port is closed or the board given up; after any exception nobody is left waiting."""
        try:
            self._read_on()
        except HingelineError:
            return  # of `_send`: all were told of it when the board was given up
        except Exception as error:
            self._give_up(complaints.unforeseen(f"Reading {self.port}", error), error)

    def _read_on(self) -> None:
        splitter = Splitter()
        silences, most = 0, SILENCES_TCP if self.port.startswith("socket://") else SILENCES
        while not self._closing and self._lost is None:
            try:  # around the port alone: an error of the disk is none of the board
                arrived = self._channel.wait(QUIET_S * self.slowness if self.due else IDLE_S)
                lines = self._receive(splitter) if arrived else []
            except OSError as error:
                self.lose(f"{self.port} was pulled out ({in_words(error)})", error)
                return
            if arrived:
                silences = 0
                with self._turn:
                    self._take(lines)
            elif self.due:
                silences += 1
                if silences == most:
                    self.lose(f"{self.port} fell silent")
                else:
                    self.pulse()

    def _receive(self, splitter: Splitter) -> list[Line]:
        """Read what arrives now, at the next beat if it streams."""
        arrival_ns = monotonic_ns()
        if self.streaming:
            sleep(beat.next_s())
        data = self._channel.read()
        self.received += data[: RECEIVED_BYTES - len(self.received)]
        return [Line(self.port, arrival_ns, raw) for raw in splitter.cut(data)]

    def _take(self, lines: Sequence[Line]) -> None:
        self._tap(lines)
        resets = self.decoder.counts.resets
        events: list[Sample | SensorFault | BoardGone] = []
        answers = []
        stands_still = False
        for line in lines:
            message = self.decoder.decode(line)
            if isinstance(message, Sample | SensorFault):
                events.append(message)
                continue
            self.there |= isinstance(message, Ok | Err)
            if isinstance(message, Err) and message.request == 0 and message.code == "busy":
                self._turned_away = complaints.held(self.port, message.text)  # and the board hangs up
            elif message is not None and self._awaited is not None and message.request in (0, self._awaited):
                answers.append(message)
            elif isinstance(message, State) and message.request == PULSE:
                stands_still = not message.streaming
        if self.streaming and events:
            self._deliver(Arrived(lines[0].arrival_ns, self.port, events))
        for answer in answers:  # last: whoever gets one may rely on the events before it
            self._answers.put(answer)
        if (self.streaming and self.decoder.counts.resets > resets) or (self.due and stands_still):
            self.lose(f"{self.port} restarted")

    def _tap(self, lines: Sequence[Line]) -> None:
        if self.tap is None or not lines:
            return
        try:
            self.tap(lines)
        except Exception as error:
            self.tap = None
            activity = f"Recording {self.port}"
            failure = error if isinstance(error, HingelineError) else complaints.unforeseen(activity, error)
            self._deliver(failure)
