"""A page in Chromium on a phone's screen, spoken to through the two pipes of its debugging protocol."""

import base64
import itertools
import json
import os
import select
import subprocess
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from time import sleep

UPRIGHT = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
LYING = {**UPRIGHT, "width": 844, "height": 390}
"""A phone's screen."""
PATIENCE_S = 30


class Browser:
    """Chromium with one page, while its `with` lasts.

    Parameters
    ----------
    program
        Chromium.
    folder
        Where it keeps what it keeps.
    url
        What is opened.
    screen
        Of the phone.
    """

    def __init__(self, program: str, folder: Path, url: str, screen: Mapping[str, object] = UPRIGHT):
        theirs, self._to = os.pipe()
        self._from, theirs_too = os.pipe()
        self._process = subprocess.Popen(
            [
                "bash",
                "-c",
                f'exec "$0" "$@" 3<&{theirs} 4>&{theirs_too}',
                program,
                "--headless",
                "--disable-gpu",
                "--hide-scrollbars",
                "--remote-debugging-pipe",
                f"--user-data-dir={folder}",
                *(["--no-sandbox"] if os.geteuid() == 0 else []),
            ],
            pass_fds=(theirs, theirs_too),
            stderr=subprocess.DEVNULL,
        )
        os.close(theirs)
        os.close(theirs_too)
        self._numbers, self._held, self._session = itertools.count(1), b"", {}
        target = self._ask("Target.createTarget", url="about:blank")["targetId"]
        session = self._ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        self._session = {"sessionId": session}
        self._ask("Emulation.setDeviceMetricsOverride", **screen)
        self._ask("Page.navigate", url=url)

    def __enter__(self):
        return self

    def __exit__(self, *exception):
        self._process.terminate()
        self._process.wait()
        os.close(self._to)
        os.close(self._from)

    def wait_for(self, condition: str) -> None:
        """Wait until an expression of the page is true."""
        look = f"const look = () => ({condition}) ? done(true) : setTimeout(look, 20)"
        self._evaluate(f"new Promise((done) => {{ {look}; look(); }})")

    def arrive(self, condition: str) -> None:
        """Wait until an expression is true of a page that the browser may still be on its way to."""
        for _ in range(PATIENCE_S * 20):
            with suppress(AssertionError):  # the page that was asked is gone
                if self.value(f"Boolean({condition})"):
                    return
            sleep(0.05)
        raise AssertionError(f"never {condition}")

    def value(self, expression: str):
        """Return the value of an expression of the page."""
        return self._evaluate(expression)

    def press(self, key: str) -> None:
        """Press a key that is no letter: Tab or Enter."""
        code, text = {"Tab": (9, {}), "Enter": (13, {"text": "\r"})}[key]
        pressed = {"key": key, "code": key, "windowsVirtualKeyCode": code}
        self._ask("Input.dispatchKeyEvent", type="keyDown", **pressed, **text)
        self._ask("Input.dispatchKeyEvent", type="keyUp", **pressed)

    def type(self, text: str) -> None:
        """Type a text where the focus is, in place of what is selected there."""
        self._ask("Input.insertText", text=text)

    def accessible(self) -> list[dict]:
        """The page as a screen reader is given it: the nodes that it does not pass over."""
        nodes = self._ask("Accessibility.getFullAXTree")["nodes"]
        return [node for node in nodes if not node["ignored"]]

    def screenshot(self, path: Path) -> None:
        """Save what the screen shows."""
        path.write_bytes(base64.b64decode(self._ask("Page.captureScreenshot")["data"]))

    def _evaluate(self, expression: str):
        answer = self._ask("Runtime.evaluate", expression=expression, awaitPromise=True, returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def _ask(self, method: str, **params):
        number = next(self._numbers)
        message = {"id": number, "method": method, "params": params, **self._session}
        os.write(self._to, json.dumps(message).encode() + b"\0")
        while True:
            while b"\0" not in self._held:
                assert select.select([self._from], [], [], PATIENCE_S)[0], f"no answer to {message}"
                some = os.read(self._from, 65536)
                assert some, "the browser has ended"
                self._held += some
            first, self._held = self._held.split(b"\0", 1)
            answer = json.loads(first)
            if answer.get("id") == number:
                assert "error" not in answer, answer
                return answer["result"]
