"""Serves the form to a browser of this computer, and saves it when it is right."""

from __future__ import annotations

import secrets
import threading
from collections.abc import Callable, Mapping
from dataclasses import replace
from http import HTTPStatus
from typing import ClassVar
from urllib.parse import parse_qsl, quote

from hingeline.errors import SheetError
from hingeline.form.draft import DO, Draft
from hingeline.form.fields import SURFACE
from hingeline.form.page import form_page
from hingeline.rig.toml_mistakes import dotted
from hingeline.rig.toml_models import parse_document
from hingeline.web.address import LOOPBACK
from hingeline.web.gate import Gate, Handler

LONGEST_BODY, MOST_FIELDS = 1_000_000, 20_000
OLD = "This page was older than the sheet as it is now, shown here: type your change again"
OVER = b"<!doctype html><html lang=en><title>hingeline</title><h1>Closed. The terminal goes on.</h1>"


class SheetForm(Gate):
    """A sheet in the form, on this computer alone, while its `with` lasts.

    `name` is that of the file, `text` what it holds. `save` is called with what the file should still hold and with
    what it is to hold; it raises `SheetError` where that can't be. Raises `SheetError` where the text is no TOML.
    """

    def __init__(self, name: str, text: str, save: Callable[[str, str], None]) -> None:
        parse_document(text, name, SheetError)
        self.name = name
        self.draft = Draft(text, text)
        self.turn = threading.Lock()
        self.closed = threading.Event()
        self._save = save
        super().__init__(LOOPBACK, _Handler, "Start again")

    def save(self) -> None:
        """Save the draft if nothing in it is to be fixed, and say what became of it."""
        if self.draft.mistakes:
            self.draft = replace(self.draft, said="Not saved: fix what is listed here first")
            return
        try:
            self._save(self.draft.saved, self.draft.text)
        except SheetError as problem:
            self.draft = replace(self.draft, said=f"Not saved: {problem}")
        else:
            self.draft = Draft(self.draft.text, self.draft.text, f"Saved to {self.name}")


class _Handler(Handler):
    server: SheetForm
    places: ClassVar = {"": "GET", "change": "POST"}
    longest_body = LONGEST_BODY

    @property
    def answers(self) -> Mapping[str, Callable[[], None]]:
        """The form, and what is done with it."""
        return {"": self._form, "change": self._change}

    def _form(self) -> None:
        nonce = secrets.token_urlsafe(12)
        self.page(nonce, form_page(self.server.draft, self.server.name, nonce), has_form=True)

    def _change(self) -> None:
        try:
            typed = dict(
                parse_qsl(
                    self.body().decode(),
                    keep_blank_values=True,
                    strict_parsing=True,
                    errors="strict",
                    max_num_fields=MOST_FIELDS,
                )
            )
        except ValueError:
            self.refuse(HTTPStatus.BAD_REQUEST, "change")
            return
        with self.server.turn:
            is_over = self._heed(typed)
        if is_over:
            self.page(secrets.token_urlsafe(12), OVER)
            self.server.closed.set()
            return
        name = typed.get("surface", "") if typed.get(DO) == "add-surface" else ""
        place = f"#{quote(dotted((SURFACE, name)))}" if name else ""
        self.head(HTTPStatus.SEE_OTHER, "text/plain; charset=utf-8", {"Location": f"/{self.server.key}/{place}"})

    def _heed(self, typed: Mapping[str, str]) -> bool:
        """Take over what was typed, and do what the button says; whether that ends it."""
        server, button = self.server, typed.get(DO)
        if typed.get("revision") != server.draft.revision:
            server.draft = replace(server.draft, said=OLD)
            return False
        server.draft = server.draft.after(typed)
        if button == "save" and not server.draft.said:
            server.save()
        if button == "close" and not server.draft.is_saved:
            server.draft = replace(server.draft, said="Not closed: what you typed is not saved yet")
        return button == "discard" or (button == "close" and server.draft.is_saved)
