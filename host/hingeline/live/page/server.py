"""Serves the page and its states; refuses whoever has no key, comes from another page, or sends what is not asked."""

from __future__ import annotations

import hmac
import secrets
import socket
import sys
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from time import monotonic
from typing import Any, NamedTuple

from hingeline.errors import UsageProblem, in_words
from hingeline.live.page.address import checked, netloc
from hingeline.live.page.content import message, page
from hingeline.procedures.keys import Key
from hingeline.procedures.state import State

MOST_CLIENTS = 40
PATIENCE_S = 5.0
"""A client that takes nothing for so long, or has not sent its whole request by then, is let go."""
_WAKE_S = 0.05
LONGEST_PATH, LONGEST_BODY = 200, 16
ALLOW = {"": "GET", "events": "GET", "press": "POST"}
PRESSED: dict[bytes, Key] = {b"take": "take", b"next": "next", b"back": "back", b"units": "units"}


class _Latest(NamedTuple):
    number: int
    message: bytes


class Page:
    """The page, offered while its `with` lasts.

    Parameters
    ----------
    address
        Of this computer, see `address.checked`.
    pressed
        Called with a key that was pressed on the page; None: the page has none, and none is taken.

    Attributes
    ----------
    url
        With the key, which is made anew each time.
    came
        How many clients have come so far.

    Raises
    ------
    UsageProblem
        The address is not to be had.
    """

    beats = 1

    def __init__(self, address: str, pressed: Callable[[Key], None] | None = None) -> None:
        self.pressed = pressed
        self.key = secrets.token_urlsafe(12)
        self.came = 0
        self._latest = _Latest(0, b"")
        self._news = threading.Condition()
        self._over = False
        self._server = _open(checked(address), self)
        self.netloc = netloc(address, self._server.server_address[1])
        self.url = f"http://{self.netloc}/{self.key}/"
        self._thread = threading.Thread(target=self._server.serve_forever, args=(_WAKE_S,), name="page", daemon=True)

    def __enter__(self) -> Page:
        self._thread.start()
        return self

    def __exit__(self, *exception: object) -> None:
        with self._news:
            self._over = True
            self._news.notify_all()
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()

    def show(self, state: State) -> None:
        """Let every client have a state."""
        with self._news:
            self._latest = _Latest(self._latest.number + 1, message(state))
            self._news.notify_all()

    def after(self, number: int) -> _Latest | None:
        """Wait for a state later than that of a number; None when there will be no more."""
        with self._news:
            self._news.wait_for(lambda: self._over or self._latest.number > number)
            return None if self._over else self._latest


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False
    page: Page

    def __init__(self, address: str, page: Page) -> None:
        self.address_family = socket.AF_INET6 if ":" in address else socket.AF_INET
        self.page = page
        self._places = threading.BoundedSemaphore(MOST_CLIENTS)
        self._asking: dict[socket.socket, float] = {}
        super().__init__((address, 0), _Handler)

    def process_request(self, request: Any, client_address: Any) -> None:
        if self._places.acquire(blocking=False):
            self._asking[request] = monotonic() + PATIENCE_S
            super().process_request(request, client_address)
        else:
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        try:
            super().process_request_thread(request, client_address)
        finally:
            self.has_asked(request)
            self._places.release()

    def has_asked(self, request: socket.socket) -> None:
        """Wait no more for the rest of a request: it has come."""
        self._asking.pop(request, None)

    def service_actions(self) -> None:
        """Hang up on who takes too long to ask: one byte now and then must not hold a place."""
        for request, due_s in tuple(self._asking.items()):
            if monotonic() > due_s:
                self.has_asked(request)
                with suppress(OSError):  # it has hung up itself
                    request.shutdown(socket.SHUT_RDWR)

    def handle_error(self, request: Any, client_address: Any) -> None:
        if not isinstance(sys.exc_info()[1], OSError):  # a phone that went away is no error
            super().handle_error(request, client_address)


def _open(address: str, page: Page) -> _Server:
    try:
        return _Server(address, page)
    except OSError as error:
        raise UsageProblem(
            f"The page can't be offered on {address}: {in_words(error)}",
            "Give an address that this computer has in the local network, or leave --page-on out",
        ) from error


class _Handler(BaseHTTPRequestHandler):
    server: _Server
    timeout = PATIENCE_S
    server_version, sys_version = "hingeline", ""

    def do_GET(self) -> None:
        self._answer({"": self._page, "events": self._events})

    def do_POST(self) -> None:
        self._answer({"press": self._press})

    def _do_other(self) -> None:
        self._answer({})

    do_HEAD = do_PUT = do_PATCH = do_DELETE = do_OPTIONS = do_TRACE = _do_other

    def parse_request(self) -> bool:
        """As the library's; what follows is answered at once."""
        sound = super().parse_request()
        if self.command != "POST":
            self.server.has_asked(self.connection)
        return sound

    def _answer(self, answers: Mapping[str, Callable[[], None]]) -> None:
        key, _, where = self.path.removeprefix("/").partition("/")
        objection = self._objection(key, where)
        if objection is None and where not in answers:
            objection = HTTPStatus.METHOD_NOT_ALLOWED if where in ALLOW else HTTPStatus.NOT_FOUND
        if objection is None:
            answers[where]()
        else:
            self._refuse(objection, where)

    def _objection(self, key: str, where: str) -> HTTPStatus | None:
        """The status that refuses a request, whatever it asks for; None where it may be answered."""
        offered = self.server.page
        if len(self.path) > LONGEST_PATH:
            return HTTPStatus.REQUEST_URI_TOO_LONG
        if "Transfer-Encoding" in self.headers or self._body_length() > LONGEST_BODY:
            return HTTPStatus.REQUEST_ENTITY_TOO_LARGE
        admitted = (
            hmac.compare_digest(key.encode(), offered.key.encode())
            and self.headers.get("Host") == offered.netloc
            and self.headers.get("Origin") in (None, f"http://{offered.netloc}")
            and (not where or self.headers.get("Sec-Fetch-Site", "same-origin") == "same-origin")
        )
        return None if admitted else HTTPStatus.FORBIDDEN

    def _body_length(self) -> float:
        length = self.headers.get("Content-Length", "0")
        return float(length) if length.isdecimal() and length.isascii() else float("inf")

    def _page(self) -> None:
        nonce = secrets.token_urlsafe(12)
        body = page(nonce, self.server.page.pressed is not None)
        policy = (
            f"default-src 'none'; style-src 'nonce-{nonce}'; script-src 'nonce-{nonce}'; connect-src 'self'; "
            "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        self._head(HTTPStatus.OK, "text/html; charset=utf-8")
        self.send_header("Content-Security-Policy", policy)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def _events(self) -> None:
        self.server.page.came += 1
        self._head(HTTPStatus.OK, "text/event-stream")
        self.end_headers()
        self.wfile.write(b"retry: 500\n\n")
        number = 0
        while (latest := self.server.page.after(number)) is not None:
            self.wfile.write(latest.message)
            number = latest.number

    def _press(self) -> None:
        pressed = self.server.page.pressed
        key = PRESSED.get(self.rfile.read(int(self._body_length())))
        if pressed is None or self.headers.get("Origin") is None:
            self._refuse(HTTPStatus.FORBIDDEN, "press")
        elif key is None:
            self._refuse(HTTPStatus.BAD_REQUEST, "press")
        else:
            pressed(key)
            self._head(HTTPStatus.NO_CONTENT, "text/plain")
            self.end_headers()

    def _refuse(self, status: HTTPStatus, where: str) -> None:
        self.close_connection = True
        self._head(status, "text/plain; charset=utf-8")
        if status is HTTPStatus.METHOD_NOT_ALLOWED:
            self.send_header("Allow", ALLOW[where])
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(f"{status.phrase}\n".encode())

    def _head(self, status: HTTPStatus, content: str) -> None:
        self.send_response(status)
        for name, value in (
            ("Content-Type", content),
            ("Cache-Control", "no-store"),
            ("Referrer-Policy", "no-referrer"),
            ("X-Content-Type-Options", "nosniff"),
            ("Connection", "close"),
        ):
            self.send_header(name, value)

    def log_message(self, format: str, *arguments: Any) -> None:
        """Say nothing: the terminal belongs to the measurement."""
