"""The board's end of the line: whole lines in, whole lines out, and never a wait for either."""

import select
import sys

from hingeline_protocol.line import LINE_LIMIT

_CTRL_C = 0x03
_LINE_FEED = 0x0A


class Console:
    """Standard input and output as lines.

    Attributes
    ----------
    dropped
        Lines lost because nobody read the output.
    """

    def __init__(self):
        # CPython buffers below `buffer`, where poll can't see it.
        self._in = getattr(sys.stdin.buffer, "raw", sys.stdin.buffer)
        self._out = getattr(sys.stdout.buffer, "raw", sys.stdout.buffer)
        self._readable = _poll(sys.stdin, select.POLLIN)
        self._writable = _poll(sys.stdout, select.POLLOUT)
        self._tells_writable = _any(self._writable, select.POLLOUT)
        self._byte = bytearray(1)
        self._line = bytearray(LINE_LIMIT)
        self._length = 0
        self._torn = False
        self.dropped = 0

    def line(self):
        """Return the next line received, or None if it isn't complete yet.

        A line without end comes out cut, one byte longer than any may be.

        Raises
        ------
        KeyboardInterrupt
            Ctrl-C, where the port hands it over as a byte.
        """
        while _any(self._readable, select.POLLIN) and self._in.readinto(self._byte):
            byte = self._byte[0]
            if byte == _CTRL_C:
                raise KeyboardInterrupt
            if byte == _LINE_FEED:
                line = bytes(self._line[: self._length])
                self._length = 0
                return line
            if self._length < LINE_LIMIT:
                self._line[self._length] = byte
                self._length += 1
        return None

    def send(self, line):
        """Write a line, or lose it whole if nobody reads; return whether it went out."""
        if self._tells_writable and not _any(self._writable, select.POLLOUT):
            self.dropped += 1
            return False
        if self._torn:
            self._out.write(b"\n")
        self._torn = self._out.write(line) != len(line)
        self.dropped += self._torn
        return not self._torn


def _poll(stream, events):
    poll = select.poll()
    poll.register(stream, events)
    # MicroPython's ipoll makes nothing on the heap; CPython has poll alone.
    return getattr(poll, "ipoll", poll.poll)


def _any(poll, wanted):
    for _, events in poll(0):
        if events & wanted:
            return True
    return False
