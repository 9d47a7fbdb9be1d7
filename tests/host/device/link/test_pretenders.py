"""What answers at a board's address and is not that board gets no proof of the key that it can use elsewhere.

A pretender, and a board of the first release, are a server of this file that speaks the words of PROTOCOL.md.
"""

import hmac
import socket
import threading

import pytest

from hingeline.device.link import KEY_VARIABLE
from hingeline.device.link.board import BoardLink
from hingeline.device.link.login import Key
from hingeline.errors import BoardLost, WrongKey
from hingeline_protocol.line import unseal
from hingeline_protocol.messages import (
    About,
    Board,
    Challenge,
    Err,
    Hello,
    Login,
    Nonce,
    Ok,
    Proof,
    Prove,
    State,
    Status,
    Stop,
    pack,
    parse,
)

UID = "c0ffee01"
KEY = bytes(range(16))
NONCE = bytes(range(16, 32))


class Answering(threading.Thread):
    """Answers one connection by `login`: what it answers to each of `prove` and `challenge`.

    Attributes
    ----------
    requests
        All that the host has sent.
    """

    def __init__(self, login, checks=lambda proof: True):
        super().__init__(daemon=True)
        self.requests = []
        self._login, self._checks, self._in = login, checks, False
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = f"socket://127.0.0.1:{self._server.getsockname()[1]}"
        self.start()

    def run(self):
        connection, _ = self._server.accept()
        self._server.close()
        with connection, connection.makefile("rwb", 0) as stream:
            for line in stream:
                if line != b"\n":
                    request = parse(unseal(line))
                    self.requests.append(request)
                    for message in self._answers(request):
                        stream.write(pack(message))

    def _answers(self, request):
        number = request.request
        if type(request) in self._login:
            return self._login[type(request)](request)
        if isinstance(request, Prove):
            return [Err(number, "verb", "expected a request of protocol 1")]
        if isinstance(request, Login):
            self._in = self._checks(request.proof)
            return [Ok(number) if self._in else Err(number, "login", "the key is another one")]
        if not self._in:
            return [Err(number, "login", "this host has not proved that it knows the key")]
        return {
            Hello: [Board(number, 1, "0.1.0", "pico", UID, 0), About(number, "power", "off", "")],
            Status: [State(number, 0, 50, 4, 0, 0, 0, 0, 0, 0, 0)],
            Stop: [],
        }[type(request)] + [Ok(number)]

    def proofs(self):
        return [request.proof for request in self.requests if isinstance(request, Login)]


def answering(nonce):
    """To `challenge` as a board of the first release."""
    return {Challenge: lambda request: [Nonce(request.request, UID, nonce), Ok(request.request)]}


@pytest.fixture(autouse=True)
def no_named_key(monkeypatch):
    monkeypatch.delenv(KEY_VARIABLE, raising=False)


def link_to(board, proven):
    return BoardLink(board.port, lambda arrived: None, key_of=lambda uid: Key(KEY.hex(), proven))


@pytest.mark.parametrize(
    "proof",
    [
        bytes(32),
        hmac.digest(KEY[::-1], b"hingeline login board " + NONCE + NONCE + UID.encode(), "sha256"),
    ],
)
def test_who_does_not_prove_the_key_gets_no_proof_at_all(proof):
    board = Answering({Prove: lambda request: [Proof(request.request, UID, NONCE, proof), Ok(request.request)]})
    with pytest.raises(WrongKey, match="has another key than this computer, or none"):
        link_to(board, proven=True)
    assert board.proofs() == []


def test_who_sends_the_hosts_nonce_back_gets_no_proof():
    """Nor does it learn one: the computer signs for a host alone, never for a board."""
    board = Answering(
        {
            Prove: lambda request: [
                Proof(request.request, UID, request.nonce, hmac.digest(KEY, request.nonce, "sha256")),
                Ok(request.request),
            ]
        }
    )
    with pytest.raises(WrongKey):
        link_to(board, proven=True)
    assert board.proofs() == []


def test_who_pretends_to_be_of_the_first_release_gets_no_proof_of_a_board_that_is_not():
    board = Answering(answering(NONCE))
    with pytest.raises(WrongKey, match=f"does not prove that it is board {UID}") as error:
        link_to(board, proven=True)
    assert "hingeline install" in error.value.cure
    assert board.proofs() == []


@pytest.mark.parametrize("size", [0, 15, 17, 54, 64])
def test_the_computer_signs_no_nonce_of_another_length(size):
    board = Answering(answering(bytes(size)))
    with pytest.raises(BoardLost):
        link_to(board, proven=False)
    assert board.proofs() == []


def test_a_board_of_the_first_release_lets_in_as_ever():
    board = Answering(answering(NONCE), lambda proof: proof == hmac.digest(KEY, NONCE, "sha256"))
    link = link_to(board, proven=False)
    assert link.board.uid == UID
    link.close()
