"""Questions and answers over a port, while the stream is read beside them."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from queue import Empty, SimpleQueue
from time import perf_counter, perf_counter_ns, sleep
from typing import Any

from hingeline.device.link import beat, complaints
from hingeline.device.link.decoder import Decoder, Line, Splitter
from hingeline.device.link.ports import open_port
from hingeline.device.link.times import Arrived
from hingeline.device.samples import BoardGone, Sample, SensorFault
from hingeline.errors import BoardLost, HingelineError, PortBusy, in_words
from hingeline_protocol.messages import Board, Err, Ok, Sensor, State, Status, pack

TRIES = 5
"""A request of which nothing comes whole so often is given up."""
PROBE_S = 0.4
"""A request unanswered for so long is followed by a `status`, which any board answers at once when its turn comes."""
PATIENCE_S = 2.0
"""A board that answers nothing for so long is lost."""
PATIENCES = 5
"""A slow board has so many times what its introduction took."""
START_S = 5.0
"""Patience with a port where nothing is answered yet: opening it restarts some boards, which then hear nothing."""
SLOW_S = 60.0
"""Patience with the introduction of a board that is there: an emulated one looks for its chips for seconds."""
SILENCES, SILENCES_TCP = 10, 20
"""So many times in `patience_s` a silent board is asked for its status while it streams, and after so many it is lost:
that a device is pulled out the system reports at once, and a radio pauses for seconds."""
UNUSABLE_S = 2.0
"""A cable that damages every line, or a clock that stands, is named after so long."""
PAUSE_S = 4.0
"""An answer over the network is waited for at least so long: a radio pauses for up to 3 s."""
IDLE_S = 0.5
RECEIVED_BYTES = 200
PULSE = 65535
"""The request number of questions whose answer nobody waits for."""

Deliver = Callable[[Arrived | HingelineError], None]
Tap = Callable[[Sequence[Line]], None]


class Conversation:
    """One thread reads the port: samples and faults go to `deliver`, answers to the thread that asked.

    `turn` is held while lines are tapped and delivered: with one lock for several boards, both happen in one order.
    `on_wait` is called if a board is there and its introduction takes long.
    """

    def __init__(
        self, port: str, deliver: Deliver, turn: threading.Lock, on_wait: Callable[[], None] = lambda: None
    ) -> None:
        self.port = port
        self.decoder = Decoder(port)
        self.received = b""
        """The first bytes, for a message about what is no board."""
        self.streaming = False
        """Events are delivered."""
        self.there = False
        """A board is there: something has been answered since it was asked to introduce itself, however late."""
        self.patience_s: float | None = None
        """With this board; None until it has introduced itself."""
        self.due = False
        """Lines are due: a silent board is lost, and one that says it does not stream has restarted."""
        self.took_s = 0.0
        """What the last answer took."""
        self.counts = self.decoder.counts
        """How many lines of which kind the board has sent."""
        self._record: Tap | None = None
        """Gets the lines of each read before they are delivered. What it raises is delivered, and ends it."""
        self._deliver = deliver
        self._turn = turn
        self._on_wait = on_wait
        self._answers: SimpleQueue[Any] = SimpleQueue()
        self._request = 0
        self._awaited: tuple[int, ...] = ()
        self._lost: HingelineError | None = None
        self._turned_away: PortBusy | None = None
        self._closing = False
        self._asking = threading.Lock()
        self._sending = threading.Lock()
        self._whole_s = self._sampled_s = self._moved_s = perf_counter()
        self._last_s = 0.0
        self._channel = open_port(port)
        self._thread = threading.Thread(target=self._read, name=f"reads {port}", daemon=True)
        self._thread.start()

    def ask(self, message: Any, *fields: Any, wants: Any = None, patience_s: float = 0.0) -> list[Any]:
        """Send a request; its answer, which has a `wants` in it, without the end.

        A board answers in order. A request is repeated once it is known to be lost, by the answer to a later one, and
        not while it is pending. The board may take `patience_s`, or longer where it is slow.

        Raises `BoardRefused` (the board answered `err`); `BoardLost` (the board did not answer, or is gone); `PortBusy`
        (it serves another host); `HingelineError` (the reading thread failed).
        """
        with self._asking:
            try:
                requests: list[int] = []
                while len(requests) < TRIES:
                    requests.append(self._send(message, *fields))
                    answer = self._answer(requests, patience_s)
                    if answer and isinstance(answer[-1], Err):
                        raise complaints.refusal(self.port, message, answer[-1])
                    if answer and _is_whole(answer, wants):
                        return answer[:-1]
            finally:
                self._awaited = ()
        counts = self.counts
        broken = f"of {counts.lines} lines, {counts.bad} came damaged and {counts.unknown} are not of the protocol"
        raise self.lose(f"No answer of {self.port} arrived complete: {broken}")

    def pulse(self) -> None:
        """Send a question that every board answers at once; nobody waits for the answer."""
        self._write(Status(PULSE))

    def lose(self, reason: str, cause: OSError | None = None) -> HingelineError:
        """Give the board up, and return the error to raise: this one, or the one that it was given up for before."""
        cure = "Check its cable and plug it in again; what was recorded until then is kept"
        return self._give_up(BoardLost(reason, cure), cause)

    def close(self) -> None:
        """Free the port."""
        self._closing = True
        self._channel.wake()
        self._thread.join()
        self._channel.close()

    def _give_up(self, error: HingelineError, cause: Exception | None) -> HingelineError:
        """Pass on, once, to those who iterate or wait for an answer, why nothing more comes."""
        with self._sending:
            if self._lost is not None:
                return self._lost
            self._lost = error
            error.__cause__ = cause
        self._answers.put(error)
        if self.decoder.sensors:
            now_ns = perf_counter_ns()
            gone = BoardGone(now_ns * 1e-9, error) if isinstance(error, BoardLost) else None
            self._deliver(Arrived(now_ns, self.port, [gone]) if gone else error)
        return error

    def _send(self, message: Any, *fields: Any) -> int:
        """Send a request with the next number, whose answer is awaited."""
        self._request = self._request % (PULSE - 1) + 1
        self._awaited += (self._request,)
        self._write(message(self._request, *fields))
        return self._request

    def _write(self, message: Any) -> None:
        if self._lost is not None:
            raise self._turned_away or self._lost
        try:
            with self._sending:
                self._channel.write(b"\n" + pack(message))  # whatever fragment came before, it has ended
        except OSError as error:
            raise self.lose(f"{self.port} takes no more bytes ({in_words(error)})", error) from error

    def _answer(self, requests: Sequence[int], least_s: float) -> list[Any]:
        """Wait for the messages that answer one of `requests`, the last being its end; empty if the last one is lost.

        Raises `NoBoard`, `WrongFirmware`, `BoardLost` where nothing is answered, and why the reading thread has ended.
        """
        answer: list[Any] = []
        probes: list[int] = []
        asked_s, wait_s = perf_counter(), PROBE_S
        patient_until_s = asked_s + max(least_s, PAUSE_S if self.port.startswith("socket://") else 0.0)
        while (left_s := max(patient_until_s, asked_s + self._patience_s) - perf_counter()) > 0:
            try:
                message = self._answers.get(timeout=min(wait_s, left_s))
            except Empty:
                probes.append(self._send(Status))
                wait_s = min(2 * wait_s, max(PROBE_S, self._patience_s / TRIES))
                if self.there and self.patience_s is None and len(probes) == 2:
                    self._on_wait()
                continue
            if isinstance(message, HingelineError):
                raise self._turned_away or message
            if message.request in requests:
                answer.append(message)
                if isinstance(message, Ok | Err):
                    self.took_s = perf_counter() - asked_s
                    return answer
            elif message.request in probes and isinstance(message, Ok | Err):
                return []
            elif isinstance(message, Err) and message.code == "checksum":  # of the request, or of what came after it
                probes.append(self._send(Status))
        if self.there or self.decoder.board is not None:
            raise self.lose(f"{self.port} fell silent")
        raise complaints.stranger(self.port, self.received)

    @property
    def _patience_s(self) -> float:
        return self.patience_s or (SLOW_S if self.there else START_S)

    def _read(self) -> None:
        """Read until the port is closed or the board given up; after any exception nobody is left waiting."""
        try:
            self._read_on()
        except HingelineError:
            return  # of `_write`: all were told of it when the board was given up
        except Exception as error:
            self._give_up(complaints.unforeseen(f"Reading {self.port}", error), error)

    def _read_on(self) -> None:
        splitter = Splitter()
        silences, most = 0, SILENCES_TCP if self.port.startswith("socket://") else SILENCES
        while not self._closing and self._lost is None:
            try:  # around the port alone: an error of the disk is none of the board
                arrived = self._channel.wait(self._patience_s / SILENCES if self.due else IDLE_S)
                lines = self._receive(splitter) if arrived else []
            except OSError as error:
                self.lose(f"{self.port} was pulled out ({in_words(error)})", error)
                return
            if arrived:
                silences = 0
                with self._turn:
                    self._take(lines)
                self._heed_stream()
            elif self.due:
                silences += 1
                if silences == most:
                    self.lose(f"{self.port} fell silent")
                else:
                    self.pulse()

    def _receive(self, splitter: Splitter) -> list[Line]:
        """Read what arrives now, at the next beat if it streams."""
        arrival_ns = perf_counter_ns()
        if self.streaming:
            sleep(beat.next_s())
        data = self._channel.read()
        self.received += data[: RECEIVED_BYTES - len(self.received)]
        return [Line(self.port, arrival_ns, raw) for raw in splitter.cut(data)]

    def _take(self, lines: Sequence[Line]) -> None:
        self._write_down(lines)
        resets = self.counts.resets
        events: list[Sample | SensorFault | BoardGone] = []
        answers = []
        stands_still = False
        now_s = perf_counter()
        for line in lines:
            message = self.decoder.decode(line)
            if message is not None:
                self._whole_s = now_s
            if isinstance(message, Sample):
                self._sampled_s = now_s
                if message.time_s != self._last_s:
                    self._last_s, self._moved_s = message.time_s, now_s
            if isinstance(message, Sample | SensorFault):
                events.append(message)
                continue
            self.there |= isinstance(message, Ok | Err)
            if isinstance(message, Err) and message.request == 0 and message.code == "busy":
                self._turned_away = complaints.held(self.port, message.text)  # and the board hangs up
            elif message is not None and self._awaited and message.request in (0, *self._awaited):
                answers.append(message)
            elif isinstance(message, State) and message.request == PULSE:
                stands_still = not message.streaming
        if self.streaming and events:
            self._deliver(Arrived(lines[0].arrival_ns, self.port, events))
        for answer in answers:  # last: whoever gets one may rely on the events before it
            self._answers.put(answer)
        if (self.streaming and self.counts.resets > resets) or (self.due and stands_still):
            self.lose(f"{self.port} {'leads to another board now' if self.decoder.foreign else 'restarted'}")

    def _heed_stream(self) -> None:
        """Lose a board of whose lines nothing can be used for `UNUSABLE_S` of the host's clock, and name the reason."""
        now_s = perf_counter()
        if not self.due:
            self._whole_s = self._sampled_s = self._moved_s = now_s
        elif now_s - self._whole_s > UNUSABLE_S:
            bad = f"{self.counts.bad} of {self.counts.lines} lines came damaged so far"
            self.lose(f"{self.port} sends nothing but damaged lines for 2 s: {bad}")
        elif self._sampled_s - self._moved_s > UNUSABLE_S:
            self.lose(f"The clock of {self.port} stands still: its lines of 2 s all bear the same time")

    def _write_down(self, lines: Sequence[Line]) -> None:
        if self._record is None or not lines:
            return
        try:
            self._record(lines)
        except Exception as error:
            self._record = None
            activity = f"Recording {self.port}"
            self._deliver(error if isinstance(error, HingelineError) else complaints.unforeseen(activity, error))


def _is_whole(answer: Sequence[Any], wants: Any) -> bool:
    """Whether an answer has what is wanted, an introduction as many sensors as it announces too."""
    details = [detail for detail in answer if wants is None or isinstance(detail, wants)]
    sensors = sum(isinstance(detail, Sensor) for detail in answer)
    return bool(details) and (wants is not Board or details[0].sensors == sensors)
