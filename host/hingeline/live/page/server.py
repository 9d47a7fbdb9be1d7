"""Serves the page of the moment and its states, and takes the keys that are pressed on it."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable, Mapping
from http import HTTPStatus
from typing import ClassVar

from hingeline.live.page.content import message, page
from hingeline.procedures.keys import Key
from hingeline.procedures.state import State
from hingeline.web.gate import Gate, Handler

PRESSED: dict[bytes, Key] = {b"take": "take", b"next": "next", b"back": "back", b"units": "units"}

_CURE = "Give an address that this computer has in the local network, or leave --page-on out"


class Page(Gate):
    """The page, offered on an address of this computer while its `with` lasts.

    Raises as `Gate`. `pressed` is called with a key that was pressed on the page; None: the page has no keys, and takes
    none. `came` counts the clients so far.
    """

    beats = 1

    def __init__(self, address: str, pressed: Callable[[Key], None] | None = None) -> None:
        self.pressed = pressed
        self.came = 0
        self._latest = (0, b"")
        self._news = threading.Condition()
        self._over = False
        super().__init__(address, _Handler, _CURE)

    def __exit__(self, *exception: object) -> None:
        with self._news:
            self._over = True
            self._news.notify_all()
        super().__exit__(*exception)

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


class _Handler(Handler):
    server: Page
    places: ClassVar = {"": "GET", "events": "GET", "press": "POST"}
    longest_body = 16

    @property
    def answers(self) -> Mapping[str, Callable[[], None]]:
        """The page, its states, its keys."""
        return {"": self._page, "events": self._events, "press": self._press}

    def _page(self) -> None:
        nonce = secrets.token_urlsafe(12)
        self.page(nonce, page(nonce, self.server.pressed is not None))

    def _events(self) -> None:
        self.server.came += 1
        self.head(HTTPStatus.OK, "text/event-stream")
        self.wfile.write(b"retry: 500\n\n")
        number = 0
        while (latest := self.server.after(number)) is not None:
            number, text = latest
            self.wfile.write(text)

    def _press(self) -> None:
        key = PRESSED.get(self.body())
        if self.server.pressed is None:
            self.refuse(HTTPStatus.FORBIDDEN, "press")
        elif key is None:
            self.refuse(HTTPStatus.BAD_REQUEST, "press")
        else:
            self.server.pressed(key)
            self.head(HTTPStatus.NO_CONTENT, "text/plain")
