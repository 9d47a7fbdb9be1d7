"""Serves the page and its states; refuses whoever has no key, comes from another page, or sends what is not asked."""

from __future__ import annotations

import errno
import hmac
import secrets
import socket
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from hingeline.errors import FIREWALL, UsageProblem, in_words
from hingeline.live.page.address import checked
from hingeline.live.page.attempts import Attempts
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


class Page(ThreadingHTTPServer):
    """The page, offered on an address of this computer while its `with` lasts.

    Raises `UsageProblem` if the address is not to be had. `pressed` is called with a key that was pressed on the page;
    None: the page has no keys, and takes none. `url` holds a key that is made anew each time; `came` counts the
    clients so far.
    """

    beats = 1
    daemon_threads = True
    block_on_close = False

    def __init__(self, address: str, pressed: Callable[[Key], None] | None = None) -> None:
        self.pressed = pressed
        self.key = secrets.token_urlsafe(12)
        self.came = 0
        self.address = checked(address)
        self.attempts = Attempts()
        self._latest = (0, b"")
        self._news = threading.Condition()
        self._over = False
        self._places = threading.BoundedSemaphore(MOST_CLIENTS)
        self._thread = threading.Thread(target=self.serve_forever, args=(_WAKE_S,), name="page", daemon=True)
        ipv6 = ":" in self.address
        self.address_family = socket.AF_INET6 if ipv6 else socket.AF_INET
        try:
            super().__init__((self.address, 0), _Handler)
        except OSError as error:
            raise UsageProblem(
                f"The page can't be offered on {address}: {in_words(error)}",
                FIREWALL
                if error.errno == errno.EACCES
                else "Give an address that this computer has in the local network, or leave --page-on out",
            ) from error
        self.netloc = f"{f'[{self.address}]' if ipv6 else self.address}:{self.server_address[1]}"
        self.url = f"http://{self.netloc}/{self.key}/"

    def __enter__(self) -> Page:
        self._thread.start()
        return self

    def __exit__(self, *exception: object) -> None:
        with self._news:
            self._over = True
            self._news.notify_all()
        self.shutdown()
        self.server_close()
        self._thread.join()

    def show(self, state: State) -> None:
        """Let every client have a state."""
        with self._news:
            self._latest = (self._latest[0] + 1, message(state))
            self._news.notify_all()

    def after(self, number: int) -> tuple[int, bytes] | None:
        """Wait for a message later than that of a number; None when there will be no more."""
        with self._news:
            self._news.wait_for(lambda: self._over or self._latest[0] > number)
            return None if self._over else self._latest

    def verify_request(self, request: Any, client_address: Any) -> bool:
        return self._places.acquire(blocking=False)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._places.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        if not isinstance(sys.exc_info()[1], OSError):  # a phone that went away is no error
            super().handle_error(request, client_address)


class _Handler(BaseHTTPRequestHandler):
    server: Page
    timeout = PATIENCE_S
    server_version, sys_version = "hingeline", ""

    def setup(self) -> None:
        """As the library's; whoever takes too long to ask is let go: one byte now and then must not hold a place."""
        super().setup()
        self._patience = threading.Timer(PATIENCE_S, self._hang_up)
        self._patience.daemon = True
        self._patience.start()

    def _hang_up(self) -> None:
        with suppress(OSError):  # it has hung up itself
            self.connection.shutdown(socket.SHUT_RDWR)

    def parse_request(self) -> bool:
        """As the library's; only the body of a `POST` is still to come."""
        sound = super().parse_request()
        if self.command != "POST":
            self._patience.cancel()
        return sound

    def finish(self) -> None:
        self._patience.cancel()
        super().finish()

    def _answer(self) -> None:
        key, _, place = self.path.removeprefix("/").partition("/")
        if refusal := self._refusal(key, place):
            self._refuse(refusal, place)
        else:
            {"": self._page, "events": self._events, "press": self._press}[place]()

    do_GET = do_POST = do_HEAD = do_PUT = do_PATCH = do_DELETE = do_OPTIONS = do_TRACE = _answer

    def _refusal(self, key: str, place: str) -> HTTPStatus | None:
        """The status that refuses a request; None where it may be answered.

        This computer itself may ask as often as it likes: another user of it could keep the person out.
        """
        if self.client_address[0] != self.server.address and self.server.attempts.is_guessing(self.client_address[0]):
            return HTTPStatus.TOO_MANY_REQUESTS
        if len(self.path) > LONGEST_PATH:
            return HTTPStatus.REQUEST_URI_TOO_LONG
        if "Transfer-Encoding" in self.headers or self._body_length() > LONGEST_BODY:
            return HTTPStatus.REQUEST_ENTITY_TOO_LARGE
        admitted = (
            hmac.compare_digest(key.encode(), self.server.key.encode())
            and self.headers.get("Host") == self.server.netloc
            and self.headers.get("Origin") in (None, f"http://{self.server.netloc}")
            and (not place or self.headers.get("Sec-Fetch-Site", "same-origin") == "same-origin")
        )
        if not admitted:
            self.server.attempts.note_wrong(self.client_address[0])
            return HTTPStatus.FORBIDDEN
        if place not in ALLOW:
            return HTTPStatus.NOT_FOUND
        return None if ALLOW[place] == self.command else HTTPStatus.METHOD_NOT_ALLOWED

    def _body_length(self) -> float:
        length = self.headers.get("Content-Length", "0")
        return float(length) if length.isdecimal() and length.isascii() else float("inf")

    def _page(self) -> None:
        nonce = secrets.token_urlsafe(12)
        body = page(nonce, self.server.pressed is not None)
        policy = (
            f"default-src 'none'; style-src 'nonce-{nonce}'; script-src 'nonce-{nonce}'; connect-src 'self'; "
            "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        headers = {"Content-Security-Policy": policy, "Content-Length": str(len(body))}
        self._head(HTTPStatus.OK, "text/html; charset=utf-8", headers)
        self.wfile.write(body)

    def _events(self) -> None:
        self.server.came += 1
        self._head(HTTPStatus.OK, "text/event-stream")
        self.wfile.write(b"retry: 500\n\n")
        number = 0
        while (latest := self.server.after(number)) is not None:
            number, text = latest
            self.wfile.write(text)

    def _press(self) -> None:
        key = PRESSED.get(self.rfile.read(int(self._body_length())))
        if self.server.pressed is None or self.headers.get("Origin") is None:
            self._refuse(HTTPStatus.FORBIDDEN, "press")
        elif key is None:
            self._refuse(HTTPStatus.BAD_REQUEST, "press")
        else:
            self.server.pressed(key)
            self._head(HTTPStatus.NO_CONTENT, "text/plain")

    def _refuse(self, status: HTTPStatus, place: str) -> None:
        self.close_connection = True
        allowed = {"Allow": ALLOW[place]} if status is HTTPStatus.METHOD_NOT_ALLOWED else {}
        self._head(status, "text/plain; charset=utf-8", allowed)
        if self.command != "HEAD":
            self.wfile.write(f"{status.phrase}\n".encode())

    def _head(self, status: HTTPStatus, content: str, headers: dict[str, str] | None = None) -> None:
        self.send_response(status)
        common = {
            "Content-Type": content,
            "Cache-Control": "no-store",
            "Referrer-Policy": "no-referrer",
            "X-Content-Type-Options": "nosniff",
            "Connection": "close",
        }
        for name, value in (common | (headers or {})).items():
            self.send_header(name, value)
        self.end_headers()

    def log_message(self, format: str, *arguments: Any) -> None:
        """Say nothing: the terminal belongs to the measurement."""
