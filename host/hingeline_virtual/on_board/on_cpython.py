# mypy: ignore-errors
"""The parts of MicroPython that the firmware uses and CPython lacks, for systems without MicroPython."""

import gc
import os
import select
import socket
import sys
import types


def prepare():
    """Add them to this CPython."""
    sys.implementation._machine = "virtual board"
    gc.mem_alloc = gc.mem_free = lambda: 0
    micropython = types.ModuleType("micropython")
    micropython.const = lambda value: value
    sys.modules["micropython"] = micropython
    console = os.getenv("HINGELINE_CONSOLE")
    if console:
        host, port = console.split(":")
        link = socket.create_connection((host, int(port)))
        sys.stdin = sys.stdout = _Console(link)
        shown = sys.excepthook  # a board whose bench has gone ends without a word, as its micropython does
        sys.excepthook = lambda kind, *more: None if issubclass(kind, ConnectionError) else shown(kind, *more)
    if not hasattr(select, "poll"):
        select.POLLIN, select.POLLOUT = 1, 4
        select.poll = _Poll


class _Console:
    """A connection as standard input and output."""

    def __init__(self, link):
        self._link = link
        self.buffer = link.makefile("rwb", 0)

    def fileno(self):
        return self._link.fileno()

    def write(self, text):
        return self.buffer.write(text.encode())

    def flush(self):
        pass


class _Poll:
    """`select.poll`, for sockets, where the system has none."""

    def __init__(self):
        self._streams = []

    def register(self, stream, events):
        self._streams.append((stream, events))

    def poll(self, wait_ms):
        able = select.select(
            [stream for stream, events in self._streams if events & select.POLLIN],
            [stream for stream, events in self._streams if events & select.POLLOUT],
            [],
            wait_ms / 1000,
        )
        return [(s, select.POLLIN) for s in able[0]] + [(s, select.POLLOUT) for s in able[1]]
