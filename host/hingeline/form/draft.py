"""The sheet while it is in the form: what was typed so far, what is wrong with it, and what became of a button."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace

from hingeline.errors import Mistake, SheetError
from hingeline.form.changes import with_preset, with_surface, with_typed, without, without_surface
from hingeline.form.fields import SURFACE, form_of
from hingeline.rig import parse_sheet
from hingeline.rig.toml_mistakes import UNKNOWN_KEY, Key, split_key

DO = "do"
"""What the pressed button is called in what the browser sends."""


@dataclass(frozen=True)
class Draft:
    """A sheet in the form: its `text`, beside what the file holds as far as it is known here.

    `said` is what became of the last button: nothing, a success or a refusal.
    """

    saved: str
    text: str
    said: str = ""

    @property
    def is_saved(self) -> bool:
        """Whether the file holds all that was typed."""
        return self.text == self.saved

    @property
    def revision(self) -> str:
        """What tells an old page from the present one."""
        return hashlib.sha256(self.text.encode()).hexdigest()[:16]

    @property
    def unknown(self) -> tuple[Mistake, ...]:
        """The keys that no sheet has: they are kept as they are."""
        return tuple(mistake for mistake in _mistakes(self.text) if mistake.content == UNKNOWN_KEY)

    @property
    def mistakes(self) -> tuple[Mistake, ...]:
        """What is to be fixed before it can be saved."""
        text = self.text
        for mistake in self.unknown:
            text = without(text, _key(mistake))
        return tuple(mistake for mistake in _mistakes(text) if mistake.content != UNKNOWN_KEY)

    def after(self, typed: Mapping[str, str]) -> Draft:
        """The sheet with what was typed, and with what a button adds or takes out; nothing of it is in the file yet."""
        try:
            text = with_typed(self.text, typed)
            button, _, about = typed.get(DO, "").partition(" ")
            if button == "add-surface":
                text = with_surface(text, typed.get("surface", ""), typed.get("kind", ""))
            elif button == "add-preset":
                text = with_preset(text, typed.get("mode", ""), typed.get("preset", ""))
            elif button == "remove":
                text = _without_part(text, about)
        except SheetError as problem:
            return replace(self, said=str(problem))
        return replace(self, text=text, said="")


def _without_part(text: str, name: str) -> str:
    """The sheet without a table that the person has named, by the name of its field."""
    for parts in form_of(text).parts.values():
        for key in (part.name.key for part in parts if part.name.name == name):
            return without_surface(text, str(key[-1])) if key[0] == SURFACE else without(text, key)
    return text


def _mistakes(text: str) -> tuple[Mistake, ...]:
    try:
        parse_sheet(text, "sheet")
    except SheetError as problem:
        return problem.mistakes or (Mistake(1, "", problem.message, "", problem.cure),)
    return ()


def _key(mistake: Mistake) -> Key:
    return split_key(mistake.key)
