"""The form as a page: plain HTML, which a keyboard alone or a screen reader can use."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import partial
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from hingeline.errors import Mistake
from hingeline.form.draft import Draft
from hingeline.form.drawings import drawings
from hingeline.form.fields import Field, form_of
from hingeline.rig.kinds import KINDS


def form_page(draft: Draft, name: str, nonce: str) -> bytes:
    """Build the page of a draft; `name` is that of the file. Its style runs under the nonce alone."""
    form, mistakes = form_of(draft.text), draft.mistakes
    known = {field.at: field for field in (*form.fields(), *form.names())}
    environment = Environment(
        loader=PackageLoader("hingeline.form"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    environment.filters["cure"] = _cure
    environment.globals.update(
        mistakes_at=partial(_mistakes_at, mistakes), place_of=partial(_place_of, known), drawings=drawings
    )
    style = Markup((files("hingeline.form") / "templates" / "form.css").read_text("utf-8"))
    page = environment.get_template("form.html.j2").render(
        draft=draft, form=form, mistakes=mistakes, name=name, kinds=list(KINDS), nonce=nonce, style=style
    )
    return page.encode()


def _cure(mistake: Mistake) -> str:
    """What to do, as it is done here: the key need not be typed."""
    return re.sub(r'(?:Write|Add) \S+ = "([^"]*)"', r"Type \1", mistake.cure)


def _mistakes_at(mistakes: Iterable[Mistake], field: Field) -> list[Mistake]:
    return [mistake for mistake in mistakes if mistake.key == field.at]


def _place_of(known: dict[str, Field], mistake: Mistake) -> str:
    """The id of the field that a mistake is at, or of the part of the page that is next to it; empty for the top."""
    key = mistake.key
    while key and key not in known:
        inner = [at for at in known if at.startswith(f"{key}.")]
        key = inner[0] if inner else key.rpartition(".")[0]
    return key
