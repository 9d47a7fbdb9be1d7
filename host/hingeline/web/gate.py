"""Offers pages on an address of this computer; refuses who has no key, or comes from another page."""

from __future__ import annotations

import errno
import hmac
import secrets
import socket
import sys
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any, ClassVar, TypeVar

from hingeline.errors import FIREWALL, UsageProblem, in_words
from hingeline.web.address import checked
from hingeline.web.attempts import Attempts

MOST_CLIENTS = 40
PATIENCE_S = 5.0
"""A client that takes nothing for so long, or has not sent its whole request by then, is let go."""
_WAKE_S = 0.05
LONGEST_PATH = 200
G = TypeVar("G", bound="Gate")


class Gate(ThreadingHTTPServer):
    """Pages on an address of this computer while its `with` lasts, for whoever has the key in its `url`.

    The key is made anew each time. Raises `UsageProblem` if the address is not to be had, with a cure.
    """

    daemon_threads = True
    block_on_close = False

    def __init__(self, address: str, handler: type[Handler], cure: str) -> None:
        self.key = secrets.token_urlsafe(12)
        self.address = checked(address)
        self.attempts = Attempts()
        self._places = threading.BoundedSemaphore(MOST_CLIENTS)
        self._thread = threading.Thread(target=self.serve_forever, args=(_WAKE_S,), name="page", daemon=True)
        ipv6 = ":" in self.address
        self.address_family = socket.AF_INET6 if ipv6 else socket.AF_INET
        try:
            super().__init__((self.address, 0), handler)
        except OSError as error:
            raise UsageProblem(
                f"The page can't be offered on {address}: {in_words(error)}",
                FIREWALL if error.errno == errno.EACCES else cure,
            ) from error
        self.netloc = f"{f'[{self.address}]' if ipv6 else self.address}:{self.server_address[1]}"
        self.url = f"http://{self.netloc}/{self.key}/"

    def __enter__(self: G) -> G:
        self._thread.start()
        return self

    def __exit__(self, *exception: object) -> None:
        self.shutdown()
        self.server_close()
        self._thread.join()

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


class Handler(BaseHTTPRequestHandler):
    """Answers one request that was let in.

    A page of its own says which `places` there are after the key, each with its method, and how many bytes a body has
    at most; and it answers them.
    """

    places: ClassVar[Mapping[str, str]]
    longest_body: ClassVar[int]
    timeout = PATIENCE_S
    server_version, sys_version = "hingeline", ""
    server: Any

    @property
    def answers(self) -> Mapping[str, Callable[[], None]]:
        """What answers each place."""
        raise NotImplementedError

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
            self.refuse(refusal, place)
        else:
            self.answers[place]()

    do_GET = do_POST = do_HEAD = do_PUT = do_PATCH = do_DELETE = do_OPTIONS = do_TRACE = _answer

    def _refusal(self, key: str, place: str) -> HTTPStatus | None:
        """The status that refuses a request; None where it may be answered.

        This computer itself may ask as often as it likes: another user of it could keep the person out.
        """
        address = self.client_address[0]
        if address != self.server.address and self.server.attempts.is_guessing(address):
            return HTTPStatus.TOO_MANY_REQUESTS
        if len(self.path) > LONGEST_PATH:
            return HTTPStatus.REQUEST_URI_TOO_LONG
        if "Transfer-Encoding" in self.headers or self._body_length() > self.longest_body:
            return HTTPStatus.REQUEST_ENTITY_TOO_LARGE
        if not self._is_admitted(key, place):
            self.server.attempts.note_wrong(address)
            return HTTPStatus.FORBIDDEN
        if place not in self.places:
            return HTTPStatus.NOT_FOUND
        return None if self.places[place] == self.command else HTTPStatus.METHOD_NOT_ALLOWED

    def _is_admitted(self, key: str, place: str) -> bool:
        """Whether a request has the key, and comes from a page of this server or from no page; a change never that."""
        own = f"http://{self.server.netloc}"
        return (
            hmac.compare_digest(key.encode(), self.server.key.encode())
            and self.headers.get("Host") == self.server.netloc
            and self.headers.get("Origin") in ((own,) if self.command == "POST" else (None, own))
            and (not place or self.headers.get("Sec-Fetch-Site", "same-origin") == "same-origin")
        )

    def _body_length(self) -> float:
        length = self.headers.get("Content-Length", "0")
        return float(length) if length.isdecimal() and length.isascii() else float("inf")

    def body(self) -> bytes:
        """Read what was sent."""
        return self.rfile.read(int(self._body_length()))

    def page(self, nonce: str, text: bytes, *, has_form: bool = False) -> None:
        """Send a page whose style and program run under a nonce alone. A form may be sent back to this server."""
        forms = "'self'" if has_form else "'none'"
        policy = (
            f"default-src 'none'; style-src 'nonce-{nonce}'; script-src 'nonce-{nonce}'; connect-src 'self'; "
            f"img-src data:; base-uri 'none'; form-action {forms}; frame-ancestors 'none'"
        )
        headers = {"Content-Security-Policy": policy, "Content-Length": str(len(text))}
        if has_form:  # without a referrer a browser does not say where a form comes from
            headers["Referrer-Policy"] = "same-origin"
        self.head(HTTPStatus.OK, "text/html; charset=utf-8", headers)
        self.wfile.write(text)

    def refuse(self, status: HTTPStatus, place: str) -> None:
        """Send a status alone."""
        self.close_connection = True
        allowed = {"Allow": self.places[place]} if status is HTTPStatus.METHOD_NOT_ALLOWED else {}
        self.head(status, "text/plain; charset=utf-8", allowed)
        if self.command != "HEAD":
            self.wfile.write(f"{status.phrase}\n".encode())

    def head(self, status: HTTPStatus, content: str, headers: Mapping[str, str] | None = None) -> None:
        """Send the head of an answer."""
        self.send_response(status)
        common = {
            "Content-Type": content,
            "Cache-Control": "no-store",
            "Referrer-Policy": "no-referrer",
            "X-Content-Type-Options": "nosniff",
            "Connection": "close",
        }
        for name, value in (common | dict(headers or {})).items():
            self.send_header(name, value)
        self.end_headers()

    def log_message(self, format: str, *arguments: Any) -> None:
        """Say nothing: the terminal belongs to the measurement."""
