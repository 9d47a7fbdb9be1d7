"""The form in Chromium: with the keyboard alone, and as a screen reader is given it."""

import re

import pytest
from tests.host.form.test_form import TEXT
from tests.host.live.page.browser import Browser
from tests.host.look import CHROMIUM, LOOK

from hingeline.form.server import SheetForm

pytestmark = pytest.mark.browser

SCREEN = {"width": 1250, "height": 900, "deviceScaleFactor": 1, "mobile": False}
NARROW = {**SCREEN, "width": 390, "height": 844}
READY = "document.readyState === 'complete' && document.querySelector('form')"
FOCUS = """
(({ id, localName, textContent }) => id || (localName === "button" ? textContent : ""))(document.activeElement)
"""


@pytest.fixture
def saved():
    return []


@pytest.fixture
def form(saved):
    with SheetForm("reed.rig.toml", TEXT, lambda former, text: saved.append(text)) as offered:
        yield offered


def go_to(browser: Browser, place: str) -> None:
    """Press Tab until the focus is at a field or button."""
    for _ in range(300):
        if browser.value(FOCUS) == place:
            return
        browser.press("Tab")
    raise AssertionError(f"Tab never comes to {place}")


def test_the_keyboard_alone_changes_a_figure_and_saves_it(tmp_path, form, saved):
    with Browser(CHROMIUM, tmp_path, form.url, SCREEN) as browser:
        browser.arrive(READY)
        go_to(browser, "surface.flap.chord")
        browser.type("52")
        browser.press("Enter")
        browser.arrive("document.querySelector('[aria-invalid]')")
        LOOK.mkdir(parents=True, exist_ok=True)
        browser.screenshot(LOOK / "form-mistake.png")
        assert not saved
        go_to(browser, "surface.flap.chord")
        browser.type("52 mm")
        go_to(browser, "Save")
        browser.press("Enter")
        browser.arrive("document.body.textContent.includes('Saved to')")
        assert saved == [TEXT.replace('"48 mm"', '"52 mm"')]
        browser.screenshot(LOOK / "form.png")
        go_to(browser, "Close")
        browser.press("Enter")
        browser.arrive("document.body.textContent.includes('Closed')")
        assert form.closed.wait(5)


def test_a_screen_reader_is_told_the_name_of_every_control(tmp_path, form):
    with Browser(CHROMIUM, tmp_path, form.url, SCREEN) as browser:
        browser.arrive(READY)
        browser.value("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        controls = [
            (node["role"]["value"], node.get("name", {}).get("value", ""))
            for node in browser.accessible()
            if node.get("role", {}).get("value") in ("textbox", "combobox", "button")
        ]
        names = [name for _, name in controls]
        assert all(names)
        assert "flap, high, down" in names
        assert "flap, high crow" in names
        assert "rudder, high, left" in names
        assert "linkage, horn side" in names
        shown = browser.value(
            "document.querySelectorAll('input:not([type=hidden]), select, button:not([hidden])').length"
        )
        assert len(controls) == shown
        texts = [name for role, name in controls if role == "textbox"]
        doubled = {name for name in texts if texts.count(name) > 1}
        assert not {name for name in doubled if re.match("flap|rudder", name)}


@pytest.mark.parametrize("screen", [SCREEN, NARROW], ids=["wide", "narrow"])
def test_nothing_runs_out_of_the_page(tmp_path, form, screen):
    with Browser(CHROMIUM, tmp_path, form.url, screen) as browser:
        browser.arrive(READY)
        assert browser.value("document.documentElement.scrollWidth") <= screen["width"]
        LOOK.mkdir(parents=True, exist_ok=True)
        browser.screenshot(LOOK / f"form-{screen['width']}.png")
