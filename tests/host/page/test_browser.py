"""The page in Chromium on a phone's screen: what it shows, that nothing is cut off, and that it comes back."""

import shutil
import threading
from contextlib import contextmanager

import numpy as np
import pytest
from matplotlib.image import imread
from tests.host.page.browser import SCREEN, Browser
from tests.host.view.pictures import BOTH, LOST, MATCH, gap, picture

from hingeline.page.server import Page

pytestmark = pytest.mark.browser

CHROMIUM = shutil.which("chromium") or "chromium"

LONG = picture(
    gap("left", "EASE", -12.3, -123.4),
    gap("right", "ADD", 22.2, 88.8),
    captured=12,
    taken_back=3,
    told=("The left sensor e66166d8e325-104 has not been heard; a long line of talk that has to be broken.",),
)
MARGIN_PX = 8
CUT_OFF = (
    "[...document.querySelectorAll('body *')].filter((one) => one.scrollWidth > one.clientWidth + 1).length"
)
SHOWN = "document.querySelectorAll('.gap').length"
ALARM = "(document.getElementById('alarm').hidden ? '' : document.getElementById('alarm').textContent)"


@pytest.fixture
def pressed():
    return []


@pytest.fixture
def page(pressed):
    with Page("127.0.0.1", pressed.append) as offered:
        yield offered


@contextmanager
def showing(page: Page, shown):
    """Show a picture again and again."""
    over = threading.Event()

    def show():
        while not over.wait(0.02):
            page.show(shown)

    thread = threading.Thread(target=show)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def test_what_it_shows_and_that_it_falls_silent_and_comes_back(page, tmp_path):
    with Browser(CHROMIUM, tmp_path, page.url) as browser:
        with showing(page, BOTH):
            browser.wait_for(f"{SHOWN} === 2")
            text = browser.value("document.body.innerText")
        browser.wait_for(f"{SHOWN} === 0")  # what is old is not shown
        assert "No connection to the bench" in browser.value(ALARM)
        with showing(page, LOST):
            browser.wait_for(f"{ALARM} === 'left sensor lost for 0.4 s, 24.3 °C'")
        with showing(page, MATCH):
            browser.wait_for(f"{SHOWN} === 2 && {ALARM} === ''")
    assert "flap: down (normal), all the way, and hold." in text
    for part in ("EASE", "ADD", "−1.55", "+1.36", "wanted −20.4 mm", "left sensor live, 24.3 °C", "2 taken"):
        assert part in text


def test_keys_are_pressed(page, pressed, tmp_path):
    with Browser(CHROMIUM, tmp_path, page.url) as browser, showing(page, BOTH):
        browser.wait_for(f"{SHOWN} === 2")
        for key in ("confirm", "back", "units"):
            browser.value(
                "new Promise((done) => { const send = fetch; window.fetch = (...all) => send(...all).then(done);"
                f" document.querySelector('[data-key={key}]').click(); }})"
            )
    assert pressed == ["confirm", "back", "units"]


@pytest.mark.parametrize("shown", [BOTH, MATCH, LONG], ids=["off", "match", "long"])
def test_nothing_is_cut_off(page, tmp_path, shown):
    with Browser(CHROMIUM, tmp_path, page.url) as browser, showing(page, shown):
        browser.wait_for(f"{SHOWN} === 2")
        assert browser.value(CUT_OFF) == 0
        assert browser.value("document.documentElement.scrollHeight") <= SCREEN["height"]
        browser.screenshot(tmp_path / "page.png")
    pixels = np.asarray(imread(tmp_path / "page.png"))[..., :3]
    assert pixels.shape[:2] == (SCREEN["height"], SCREEN["width"])
    dark = (pixels < 0.5).any(axis=2)
    assert dark.sum() > 10_000  # digits that can be read from afar
    assert not dark[:, -MARGIN_PX:].any()
    assert not dark[:, :MARGIN_PX].any()


def test_it_reconnects_by_itself(page, tmp_path, monkeypatch):
    with Browser(CHROMIUM, tmp_path, page.url) as browser, showing(page, BOTH):
        browser.wait_for(f"{SHOWN} === 2")
        with monkeypatch.context() as fault:
            fault.setattr(page, "after", lambda number: None)  # every connection ends at once
            browser.wait_for(f"{SHOWN} === 0")
        browser.wait_for(f"{SHOWN} === 2")
    assert page.came > 1
