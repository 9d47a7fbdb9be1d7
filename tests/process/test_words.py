"""What the system refuses is told in words: the message of no error has a number or a name of C in it."""

import errno
import os
import re
import socket

import pytest

from hingeline.device.link.ports import open_port
from hingeline.errors import WORDS, in_words


@pytest.mark.parametrize("number", sorted(errno.errorcode))
def test_every_refusal_has_words(number):
    words = in_words(OSError(number, os.strerror(number)))
    assert words
    assert "rrno" not in words


@pytest.mark.parametrize("port", ["/", "/dev/null", "socket://127.0.0.1:1", "socket://no.such.host.invalid:80"])
def test_a_port_that_can_t_be_had_is_told_in_words(port):
    with pytest.raises(Exception, match=re.escape(port)) as problem:
        open_port(port)
    assert not re.search(r"rrno|\(-?\d+,|Error\b|Exception|\(\)", str(problem.value))


def test_an_error_of_a_name_server_is_told_in_words():
    assert in_words(socket.gaierror(-2, "Name or service not known")) == "the network knows no computer of that name"


def test_the_words_of_an_error_within_are_told():
    outer = OSError("read failed: [Errno 104] Connection reset by peer")
    outer.__context__ = ConnectionResetError(errno.ECONNRESET, "Connection reset by peer")
    assert in_words(outer) == WORDS[errno.ECONNRESET]
