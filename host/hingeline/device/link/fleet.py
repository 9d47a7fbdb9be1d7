"""All boards that are plugged in, as one source of events."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from queue import Empty, SimpleQueue
from time import perf_counter

from hingeline.device.link.board import BoardLink
from hingeline.device.link.conversation import Tap
from hingeline.device.link.login import KeyOf, no_key
from hingeline.device.link.ports import discover
from hingeline.device.link.times import Arrived, Mark, Ordered
from hingeline.device.samples import BoardGone, Counts, Event, SensorInfo, Tick
from hingeline.errors import HingelineError, NoBoard, UsageProblem

LINES_HZ = 50
READINGS = 4
"""The usual stream: at 200 readings a second and sensor, a line each 20 ms."""
Note = Callable[[], None]
_WAKE_S = 0.1
"""Ctrl-C is heard this often where a blocked wait can't be interrupted."""


class Fleet:
    """The boards at `ports`, each of which must have one; with none named, those on all USB serial ports.

    A context manager. `start`, iterate, `stop`; iterating ends after `stop`, or when every board is gone. `boards` are
    in the order of `ports`; `passed_over` says by port why one that was found has none. `key_of` as in
    `BoardLink`. `say` is called where a slow board is waited for.

    Raises `NoBoard` (no board was found); `UsageProblem` (two ports lead to sensors of one id); as `BoardLink` (a named
    port can't be used).

    Examples
    --------
    On a virtual bench; on real boards, `Fleet()`.

    >>> from hingeline.demo.job import SCENARIO
    >>> from hingeline_virtual.client import VirtualBench
    >>> with VirtualBench(SCENARIO) as bench, Fleet(list(bench.ports.values())) as fleet:
    ...     fleet.start()
    ...     sample = next(iter(fleet))
    ...     fleet.stop()
    ...     info = fleet.sensors[sample.sensor_id]
    >>> length_g = sum(count**2 for count in sample.counts) ** 0.5 / info.counts_per_g
    >>> f"{info.chip} {info.state}, {length_g:.0f} g"
    'mpu6050 ok, 1 g'
    """

    def __init__(
        self, ports: Sequence[str] = (), key_of: KeyOf = no_key, say: Callable[[str], None] = lambda text: None
    ) -> None:
        self._arrived: SimpleQueue[Arrived | Mark | Note | HingelineError | None] = SimpleQueue()
        self._turn = threading.Lock()
        self._keeping = True
        self.ticking = False
        """Whether a `Tick` comes each time all that has arrived was taken."""
        self._events = Ordered(self._arrivals())
        asked = tuple(dict.fromkeys(ports)) or tuple(candidate.port for candidate in discover())
        opened = self._open(asked, key_of, say)
        self.boards = tuple(link for link in opened if isinstance(link, BoardLink))
        results = zip(asked, opened, strict=True)
        self.passed_over = {port: error for port, error in results if isinstance(error, HingelineError)}
        self._live = {link.port for link in self.boards}
        try:
            if self.passed_over and (ports or not self.boards):
                raise next(iter(self.passed_over.values()))
            if not self.boards:
                raise NoBoard("No USB serial port was found", "Plug a board in, or name its port with --port")
            self._refuse_twins()
        except HingelineError:
            self.close()
            raise

    def __enter__(self) -> Fleet:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    @property
    def sensors(self) -> dict[str, SensorInfo]:
        """The sensors of all boards, by sensor id."""
        return {info.sensor_id: info for link in self.boards for info in link.sensors}

    @property
    def counts(self) -> dict[str, Counts]:
        """By port, the lines so far."""
        return {link.port: link.counts for link in self.boards}

    def locate(self, sensor_id: str) -> tuple[BoardLink, int]:
        """Find the board that carries a sensor, and the sensor's index there. Raises `NoBoard`."""
        for link in self.boards:
            for info in link.sensors:
                if info.sensor_id == sensor_id:
                    return link, info.index
        cure = "Plug its board in; `hingeline boards` lists what is there"
        raise NoBoard(f"Sensor {sensor_id} is not plugged in", cure)

    def record(self, write: Tap) -> None:
        """Pass all lines from now on to `write`, introductions first, in the order of the events."""
        for link in self.boards:
            link.tap(write)

    def record_no_more(self) -> None:
        """End the recording: when this returns, the last line has been written."""
        for link in self.boards:
            link.untap()

    def drop_until_mark(self) -> None:
        """Keep no event before the next `mark`: a user may be waited for all night."""
        self._keeping = False

    def mark(self, note: Callable[[], None]) -> None:
        """Call `note` between two lines, for a recording to mark the place, and drop all events before it."""
        with self._turn:
            note()
            self._arrived.put(Mark())
            self._keeping = True
        self._events.skip()

    def defer(self, note: Note) -> None:
        """Let the thread that iterates call `note`, in its turn among the events.

        A reading thread reports so: waiting for a terminal that Ctrl-S stopped, it would hold up all boards for ever.
        """
        self._arrived.put(note)

    def start(self, lines_hz: int = LINES_HZ, readings: int = READINGS) -> None:
        """Let every board stream; events left of an earlier stream are dropped.

        Raises `BoardLost` (a board has gone meanwhile); `HingelineError` (what was to be recorded could not be).
        """
        self._events = Ordered(self._arrivals())
        while not self._arrived.empty():
            self._heed(self._arrived.get())
        for link in self.boards:
            link.start(lines_hz, readings)

    def stop(self) -> None:
        """End the stream of every board that is still there; events sent before can be iterated."""
        for link in self.boards:
            if link.port in self._live:
                link.stop()
        self._arrived.put(None)

    def close(self) -> None:
        """End the streams and free the ports."""
        for link in self.boards:
            link.close()

    def __iter__(self) -> Iterator[Event]:
        return self._events

    def _deliver(self, arrived: Arrived | HingelineError) -> None:
        gone = isinstance(arrived, HingelineError) or isinstance(arrived.events[-1], BoardGone)
        if self._keeping or gone:
            self._arrived.put(arrived)

    def _arrivals(self) -> Iterator[Arrived | Mark | Tick]:
        while self._live:
            if self.ticking and self._arrived.empty():
                yield Tick(perf_counter())
            try:
                arrived = self._arrived.get(timeout=_WAKE_S)
            except Empty:
                continue
            if arrived is None:
                break
            self._heed(arrived)
            if isinstance(arrived, Arrived) and isinstance(arrived.events[-1], BoardGone):
                self._live.discard(arrived.port)
            if isinstance(arrived, Arrived | Mark):
                yield arrived

    @staticmethod
    def _heed(arrived: Arrived | Mark | Note | HingelineError | None) -> None:
        """Call a note, raise an error: whatever stood among the events."""
        if isinstance(arrived, HingelineError):
            raise arrived
        if callable(arrived):
            arrived()

    def _refuse_twins(self) -> None:
        """Raise `UsageProblem` where two ports lead to sensors of one id: their samples would be mixed."""
        ports: dict[str, str] = {}
        for info in (info for link in self.boards for info in link.sensors):
            if (port := ports.setdefault(info.sensor_id, info.port)) != info.port:
                raise UsageProblem(
                    f"{port} and {info.port} both lead to a sensor {info.sensor_id}",
                    "Name one of the two ports with --port: it is one board reached twice, or two boards whose "
                    "microcontrollers report the same id, which can't be used together",
                )

    def _open(
        self, ports: Sequence[str], key_of: KeyOf, say: Callable[[str], None]
    ) -> list[BoardLink | HingelineError]:
        """Open all ports at once: a silent one takes its time."""

        def attempt(port: str) -> BoardLink | HingelineError:
            try:
                on_wait = partial(say, f"Waiting for the board at {port} …")
                return BoardLink(port, self._deliver, self._turn, key_of, on_wait)
            except HingelineError as error:
                return error

        with ThreadPoolExecutor(max_workers=max(1, len(ports))) as pool:
            return list(pool.map(attempt, ports))
