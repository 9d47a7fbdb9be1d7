"""The virtual bench: one loop serves boards, scene and clock; commands come in, events go out."""

from __future__ import annotations

import contextlib
import itertools
import math
import selectors
import socket
import tempfile
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any

from hingeline.errors import ScenarioError
from hingeline_virtual import commands
from hingeline_virtual.board import VirtualBoard
from hingeline_virtual.clock import Clock
from hingeline_virtual.on_board.transactions import LEFT_STATUS, POWER_ON, RESET, RESET_STATUS, WATCHDOG
from hingeline_virtual.port import Port, open_port
from hingeline_virtual.program import Program, read_number
from hingeline_virtual.scenario import Board, Scenario
from hingeline_virtual.scene import Scene, names
from hingeline_virtual.schedule import Schedule, Task, parse_command, parse_line

SCHEMA_VERSION = 1
_CHECK_S = 0.2
_WAKE_S = 1.0
"""On Windows no Ctrl-C is heard during a wait for connections: none lasts longer."""


class Bench:
    """Boards that can be opened as ports, before a scene that commands change.

    Parameters
    ----------
    on_event
        Called with every event, a dictionary ready for JSON.
    tcp
        Offer TCP ports even where there are pseudo-terminals.
    """

    def __init__(self, scenario: Scenario, on_event: Callable[[dict[str, Any]], None], tcp: bool = False) -> None:
        self._on_event = on_event
        self._scene = Scene(scenario)
        self._clock = Clock(scenario.speed)
        self._free = scenario.speed == 0
        self._schedule = Schedule(scenario.steps)
        self._lines: deque[str | None] = deque()
        self._ending = False
        # on Windows the last files of a process that was ended may be held for a moment longer
        self._temporary = tempfile.TemporaryDirectory(prefix="hingeline-", ignore_cleanup_errors=True)
        self._folder = Path(self._temporary.name)
        self._selector = selectors.DefaultSelector()
        self._server = socket.create_server(("127.0.0.1", 0))
        self._selector.register(self._server, selectors.EVENT_READ, self._accept)
        self._bell, self._ringer = socket.socketpair()
        self._selector.register(self._bell, selectors.EVENT_READ, self._take_lines)
        self._numbers = itertools.count()
        self._expected: dict[int | None, VirtualBoard] = {}
        self._programs: dict[VirtualBoard, Program] = {}
        self._running = False
        self._boards = {
            board.name: VirtualBoard(board, self._scene, scenario.seed, self._folder, self._cable(board, tcp))
            for board in scenario.boards
        }

    def _cable(self, board: Board, tcp: bool) -> Callable[[], Port]:
        return lambda: open_port(self._folder / board.name, tcp)

    def __enter__(self) -> Bench:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for board in self._boards.values():
            board.unplug()
        for key in list(self._selector.get_map().values()):
            assert isinstance(key.fileobj, socket.socket)
            key.fileobj.close()
        self._selector.close()
        self._ringer.close()
        self._temporary.cleanup()

    def submit(self, line: str | None) -> None:
        """Give a command as a line of JSON, from any thread; None ends the bench once all commands are done."""
        self._lines.append(line)
        with contextlib.suppress(OSError):  # the bench has ended
            self._ringer.send(b"!")

    def run(self) -> None:
        """Start the boards, report their ports, then work until the end of commands.

        Raises
        ------
        ScenarioError
            A board's program ended before it began.
        """
        for board in self._boards.values():
            board.plug()
            self._start(board, POWER_ON)
        while len(self._programs) < len(self._boards):
            self._serve(_CHECK_S)
            for board in self._boards.values():
                if board.ended:
                    raise ScenarioError(
                        f"the program of board `{board.settings.name}` ended before it began",
                        "Its error is above; the firmware must have its pin map and its chips",
                    )
        for board in self._boards.values():
            self._begin(board)
        self._running = True
        self._emit("ready")
        while not (self._ending and self._schedule.idle):
            self._advance()
            self._begin_commands()
            self._finish_commands()
            if len(self._programs) < len(self._boards):
                self._notice_ended()
            self._serve(self._patience_s())

    def _emit(self, event: str, **fields: Any) -> None:
        self._on_event({"schema_version": SCHEMA_VERSION, "event": event, "scene_s": self._clock.now_s, **fields})

    # The loop: time goes on, commands begin and settle, boards are served.

    def _advance(self) -> None:
        wall_s = time.perf_counter()
        limits = [program.limit_us(wall_s, self._free) for program in self._programs.values()]
        if self._schedule.next_us > self._clock.now_us:
            limits.append(self._schedule.next_us)
        self._clock.advance(wall_s, min(limits, default=math.inf))
        for program in self._programs.values():
            program.wake(self._clock.now_us, wall_s)
        for board, program in list(self._programs.items()):
            if program.bitten(self._clock.now_us, wall_s):
                self._restart(board, WATCHDOG)

    def _patience_s(self) -> float:
        due_us = [program.asleep_until_us for program in self._programs.values() if program.asleep_until_us is not None]
        wait_s = self._clock.wall_wait_s(min([*due_us, self._schedule.next_us]))
        if len(due_us) < len(self._programs):
            wait_s = min(wait_s, _CHECK_S)
        return min(wait_s, _WAKE_S)

    def _serve(self, patience_s: float) -> None:
        for key, _ in self._selector.select(patience_s):
            key.data()

    # Boards: their programs start, connect, ask and end.

    def _start(self, board: VirtualBoard, cause: int) -> None:
        number = next(self._numbers)
        self._expected[number] = board
        board.start(self._server.getsockname(), number, cause)

    def _accept(self) -> None:
        connection, _ = self._server.accept()
        board = self._expected.pop(read_number(connection), None)
        if board is None:  # stopped before it could connect
            connection.close()
            return
        connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        program = self._programs[board] = Program(connection, board.buses, board.prompt)
        self._selector.register(connection, selectors.EVENT_READ, lambda: self._hear(board, program))
        if self._running:
            self._begin(board)

    def _begin(self, board: VirtualBoard) -> None:
        self._programs[board].start(self._clock.now_us, time.perf_counter())
        self._emit("board", **board.describe())
        self._schedule.release(board.settings.name, self._clock.now_us)

    def _hear(self, board: VirtualBoard, program: Program) -> None:
        if not program.serve(self._clock.now_us, time.perf_counter()):
            self._forget(board)
            self._end(board)

    def _forget(self, board: VirtualBoard) -> None:
        self._expected = {number: other for number, other in self._expected.items() if other is not board}
        program = self._programs.pop(board, None)
        if program is not None:
            self._selector.unregister(program.connection)
            program.connection.close()

    def _end(self, board: VirtualBoard) -> None:
        status = board.finish()
        if status in (LEFT_STATUS, RESET_STATUS):
            self._start(board, RESET)
        else:
            self._emit("ended", board=board.settings.name, status=status)
            self._schedule.release(board.settings.name, self._clock.now_us)

    def _restart(self, board: VirtualBoard, cause: int) -> None:
        board.stop()  # before its connection goes: it would tell of that
        self._forget(board)
        self._start(board, cause)

    def _notice_ended(self) -> None:
        """End programs that ended before they connected."""
        for board in self._boards.values():
            if board.ended and board not in self._programs:
                self._end(board)

    # Commands: lines come in, each begins at its time and is answered when it has settled.

    def _take_lines(self) -> None:
        self._bell.recv(4096)
        while self._lines:
            line = self._lines.popleft()
            if line is None:
                self._ending = True
            else:
                self._take(line)

    def _take(self, line: str) -> None:
        number = None
        try:
            fields = parse_line(line)
            number = fields.pop("id", None)
            self._schedule.add(number, parse_command(fields))
        except ScenarioError as problem:
            self._refuse(problem, number)

    def _refuse(self, problem: ScenarioError, number: Any) -> None:
        self._emit("refused", id=number, error=problem.message, cure=problem.cure)

    def _begin_commands(self) -> None:
        while task := self._schedule.take_due(self._clock.now_us):
            try:
                self._carry_out(task)
            except ScenarioError as problem:
                self._schedule.drop(task)
                self._refuse(problem, task.number)

    def _finish_commands(self) -> None:
        for task in self._schedule.take_settled(self._clock.now_us):
            self._emit(
                "settled",
                id=task.number,
                do=task.command.do,
                began_s=task.began_us / 1e6,
                settled_s=task.settled_us / 1e6,
                **self._scene.truth(task.settled_us / 1e6),
            )

    def _carry_out(self, task: Task) -> None:
        command, began_s = task.command, task.began_us / 1e6
        task.settled_us = task.began_us
        if isinstance(command, commands.Fault | commands.Spoil | commands.Mend):
            chips = {name: chip for board in self._boards.values() for name, chip in board.chips.items()}
            for name in names(command.sensor, chips, "sensor"):
                chips[name].change(began_s, command)
        elif isinstance(command, commands.Unplug | commands.Plug | commands.Reset):
            (name,) = names(command.board, self._boards, "board")
            self._switch(self._boards[name], task)
        else:
            task.settled_us = math.ceil(self._scene.do(command, began_s) * 1e6)

    def _switch(self, board: VirtualBoard, task: Task) -> None:
        """Unplug, plug or reset a board; the latter two settle when its program has begun."""
        if isinstance(task.command, commands.Plug) != (board.port is None):
            state, cure = ("unplugged", "Plug") if board.port is None else ("plugged", "Unplug")
            raise ScenarioError(f"board `{board.settings.name}` is {state}", f"{cure} it first")
        if isinstance(task.command, commands.Unplug):
            board.unplug()
            self._forget(board)
            return
        task.settled_us = math.inf
        if isinstance(task.command, commands.Reset):
            self._restart(board, RESET)
        else:
            board.plug()
            self._start(board, POWER_ON)
