"""The page in Chromium on a phone's screen: what it shows, that nothing is cut off, and that it comes back."""

import json
import threading
from contextlib import contextmanager

import numpy as np
import pytest
from matplotlib.image import imread, imsave
from tests.host.live.page.browser import LYING, UPRIGHT, Browser
from tests.host.live.states import BOTH, LOST, MATCH, PUSHED, gap, state
from tests.host.look import CHROMIUM, LOOK
from tests.host.wcag import contrast

from hingeline.live.page.content import MINUS
from hingeline.live.page.server import Page
from hingeline.live.words import number_of

pytestmark = pytest.mark.browser

LONG = state(
    gap("left", "LESS", -12.3, -123.4),
    gap("right", "MORE", 22.2, 88.8),
    taken=12,
    taken_back=3,
    messages=("The left sensor e66166d8e325-104 has not been heard; a long line of talk that has to be broken.",),
)
MATCHED = state(gap("left", "LOW", 0.9, 0.75), gap("right", "MATCHED", 0.08, 0.06, 0.2))
PICTURES = {"off": BOTH, "match": MATCH, "matched": MATCHED, "long": LONG, "pushed": PUSHED, "lost": LOST}
MARGIN_PX = 8
CUT_OFF = "[...document.querySelectorAll('body *')].filter((one) => one.scrollWidth > one.clientWidth + 1).length"
SHOWN = "document.querySelectorAll('.gap').length"
COLOURS = """
(() => {
  const two = (one) => (+one).toString(16).padStart(2, "0");
  const hex = (rgb) => "#" + rgb.match(/[0-9]+/g).slice(0, 3).map(two).join("");
  const clear = "rgba(0, 0, 0, 0)", style = (one) => getComputedStyle(one);
  const paper = (one) => style(one).backgroundColor === clear ? paper(one.parentElement) : style(one).backgroundColor;
  return [...document.querySelectorAll("body *")]
    .filter((one) => one.checkVisibility() && [...one.childNodes].some((node) => node instanceof Text))
    .map((one) => [hex(style(one).color), hex(paper(one))]);
})()
"""
STATE = "[...document.querySelectorAll('.number, #alarm:not([hidden])')].map((one) => one.textContent).join(' ')"
ALARM = "(document.getElementById('alarm').hidden ? '' : document.getElementById('alarm').textContent)"


@contextmanager
def showing(page: Page, shown):
    """Show a state again and again."""
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
        assert "No connection to the computer" in browser.value(ALARM)
        with showing(page, LOST):
            browser.wait_for(f"{ALARM} === 'left sensor lost for 0.4 s, 24.3 °C'")
        with showing(page, MATCH):
            browser.wait_for(f"{SHOWN} === 2 && {ALARM} === ''")
    assert "flap: down (normal), all the way, and hold." in text
    for part in ("LESS", "MORE", "1.6", "1.4", "target −20.4 mm", "left sensor live, 24.3 °C", "2 taken"):
        assert part in text


def test_keys_are_pressed(page, pressed, tmp_path):
    with Browser(CHROMIUM, tmp_path, page.url) as browser, showing(page, BOTH):
        browser.wait_for(f"{SHOWN} === 2")
        for key in ("take", "back", "units"):
            browser.value(
                "new Promise((done) => { const send = fetch; window.fetch = (...all) => send(...all).then(done);"
                f" document.querySelector('[data-key={key}]').click(); }})"
            )
    assert pressed == ["take", "back", "units"]


@pytest.mark.parametrize("screen", [UPRIGHT, LYING], ids=["upright", "lying"])
def test_nothing_is_cut_off_or_pale(page, tmp_path, screen):
    with Browser(CHROMIUM, tmp_path, page.url, screen) as browser:
        for name, shown in PICTURES.items():
            path = LOOK / f"phone-{name}-{screen['width']}x{screen['height']}.png"
            with showing(page, shown):
                browser.wait_for(f"{STATE} === {json.dumps(large(shown))}")
                assert browser.value(CUT_OFF) == 0, name
                assert browser.value("document.documentElement.scrollHeight") <= screen["height"], name
                colours = browser.value(COLOURS)
                browser.screenshot(path)
            assert len(colours) > 5
            for ink, paper in colours:
                assert contrast(ink, paper) == pytest.approx(21)  # the most there is: it is read in the sun
            pixels = imread(path)[..., :3]
            assert pixels.shape[:2] == (screen["height"], screen["width"])
            dark = (pixels < 0.5).any(axis=2)
            assert not dark[:, -MARGIN_PX:].any()
            assert not dark[:, :MARGIN_PX].any()
            imsave(path.with_stem(f"{path.stem}-sun"), in_the_sun(pixels))


def large(shown) -> str:
    """Return what `STATE` is once the page shows a state."""
    numbers = [number_of(side, shown.unit) for side in shown.sides]
    return " ".join([*numbers, *(one.text for one in shown.alarms)]).replace("-", MINUS)


def in_the_sun(pixels: np.ndarray) -> np.ndarray:
    """Return a picture as the sun leaves it: its light is laid over all.

    100 000 lx on a glass that reflects 4.5 % are 1430 cd/m² over the 700 of a bright phone: figures from memory.
    """
    light = np.where(pixels <= 0.04045, pixels / 12.92, ((pixels + 0.055) / 1.055) ** 2.4)  # sRGB, IEC 61966-2-1
    paled = (700 * light + 1430) / (700 + 1430)
    return 1.055 * paled ** (1 / 2.4) - 0.055


def test_it_reconnects_by_itself(page, tmp_path, monkeypatch):
    with Browser(CHROMIUM, tmp_path, page.url) as browser, showing(page, BOTH):
        browser.wait_for(f"{SHOWN} === 2")
        with monkeypatch.context() as fault:
            fault.setattr(page, "after", lambda number: None)  # every connection ends at once
            browser.wait_for(f"{SHOWN} === 0")
        browser.wait_for(f"{SHOWN} === 2")
    assert page.came > 1
