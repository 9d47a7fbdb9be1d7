"""The board's end of the wire: whole lines in, whole lines out, without waiting for either."""

import select
import sys

from hingeline_protocol.line import LINE_LIMIT

_CTRL_C = 0x03
_LINE_FEED = 0x0A


class Console:
    """A host's end of a wire as lines: standard input and output, unless other streams are given.

    Attributes
    ----------
    dropped
        Lines lost because nobody read the output.
    """

    HEEDS_CTRL_C = True
    """Whether Ctrl-C ends the program."""

    def __init__(self, source=sys.stdin, sink=sys.stdout):
        self._in = _bytes_of(source)
        self._out = _bytes_of(sink)
        self._readable = poll_of(source, select.POLLIN)
        self._writable = poll_of(sink, select.POLLOUT)
        self._tells_writable = any_ready(self._writable, select.POLLOUT)
        self._byte = bytearray(1)
        self._line = bytearray(LINE_LIMIT)
        self._length = 0
        self._torn = False
        self.dropped = 0

    def line(self):
        """Take the next line received, or None if it is not complete yet.

        A line that is too long is cut to one byte more than any line may have, so that it is refused.

        Raises
        ------
        KeyboardInterrupt
            Ctrl-C, where the port hands it over as a byte.
        """
        for _ in range(LINE_LIMIT):  # a host that sends bytes without end must not block the board
            if not (any_ready(self._readable, select.POLLIN) and self._take()):
                break
            byte = self._byte[0]
            if byte == _CTRL_C and self.HEEDS_CTRL_C:
                raise KeyboardInterrupt
            if byte == _LINE_FEED:
                line = bytes(self._line[: self._length])
                self._length = 0
                return line
            if self._length < LINE_LIMIT:
                self._line[self._length] = byte
                self._length += 1
        return None

    def _take(self):
        """Read one byte into `_byte`: 1, 0 at the end of the stream, or None where none has come yet."""
        return self._in.readinto(self._byte)

    def send(self, line):
        """Write a line, or drop it whole if nobody reads; True if it was sent."""
        if self._tells_writable and not any_ready(self._writable, select.POLLOUT):
            self.dropped += 1
            return False
        if self._torn:
            self._out.write(b"\n")
        self._torn = self._out.write(line) != len(line)
        self.dropped += self._torn
        return not self._torn


def _bytes_of(stream):
    # CPython buffers below `buffer`, where poll can't see it.
    stream = getattr(stream, "buffer", stream)
    return getattr(stream, "raw", stream)


def poll_of(stream, events):
    """Make the poll of one stream that `any_ready` asks."""
    poll = select.poll()
    poll.register(stream, events)
    # MicroPython's ipoll makes nothing on the heap; CPython has only poll.
    return getattr(poll, "ipoll", poll.poll)


def any_ready(poll, wanted):
    """Whether one of the wanted events has come; does not wait."""
    for _, events in poll(0):
        if events & wanted:
            return True
    return False
