"""The form over HTTP, through the real command: who may ask, what is saved, and what is not."""

import html
import http.client
import os
import re
import signal
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlencode, urlsplit

import pytest
from tests.host.form.test_form import TEXT, name

from hingeline.form.server import LONGEST_BODY, SheetForm
from hingeline.storage.sheets import replace_sheet

URLENCODED = {"Content-Type": "application/x-www-form-urlencoded"}


class Client:
    """A browser without a screen: it sends fields and buttons, and reads the page."""

    def __init__(self, url: str):
        parts = urlsplit(url)
        self.netloc, self.root, self.own = parts.netloc, parts.path, {"Origin": f"http://{parts.netloc}"}

    def ask(self, method: str, place: str = "", body: str = "", **headers: str):
        connection = http.client.HTTPConnection(self.netloc, timeout=20)
        connection.request(method, self.root + place, body.encode(), URLENCODED | headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
        return answer, text

    @property
    def page(self) -> str:
        """The form as it is now."""
        answer, text = self.ask("GET")
        assert answer.status == 200
        return text

    def press(self, button: str, typed: dict[str, str] | None = None, revision: str | None = None) -> str:
        """Send what was typed with a button, and give the page that comes of it."""
        now = re.search('name="revision" value="([0-9a-f]+)"', self.page)[1]
        fields = {"revision": revision or now, **(typed or {}), "do": button}
        answer, text = self.ask("POST", "change", urlencode(fields), **self.own)
        return self.page if answer.status == 303 else text


CHORD = name("surface", "flap", "chord")


@pytest.fixture
def sheet(tmp_path) -> Path:
    path = tmp_path / "reed.rig.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


@pytest.fixture
def form(sheet):
    with SheetForm(str(sheet), TEXT, lambda former, text: replace_sheet(sheet, former, text)) as offered:
        yield offered


@pytest.fixture
def client(form):
    return Client(form.url)


def test_nothing_is_in_the_file_before_it_is_saved(client, sheet):
    page = client.press("check", {CHORD: "52 mm"})
    assert 'value="52 mm"' in page
    assert "not in the file yet" in page
    assert sheet.read_text() == TEXT
    page = client.press("save")
    assert "Saved to" in page
    assert sheet.read_text() == TEXT.replace('"48 mm"', '"52 mm"')


def test_what_is_wrong_is_said_beside_its_field_and_not_saved(client, sheet):
    page = client.press("save", {CHORD: "52"})
    assert "Not saved" in page
    control = re.search('<input id="surface.flap.chord"[^>]*>', page)[0]
    assert 'aria-invalid="true" aria-describedby="surface.flap.chord:mistake"' in control
    said = html.unescape(re.search('id="surface.flap.chord:mistake">([^<]*)<', page)[1])
    assert '"52"' in said
    assert "Type 52 mm." in said
    assert '<a href="#surface.flap.chord">' in page
    assert sheet.read_text() == TEXT


def test_a_surface_that_was_added_is_what_the_browser_goes_on_with(client):
    """Else the page would begin at its head, far from the new fields."""
    revision = re.search('name="revision" value="([0-9a-f]+)"', client.page)[1]
    fields = {"revision": revision, "surface": "aileron", "do": "add-surface"}
    answer, _ = client.ask("POST", "change", urlencode(fields), **client.own)
    assert answer.getheader("Location") == client.root + "#surface.aileron"
    assert 'id="surface.aileron"' in client.page


def test_a_file_that_another_program_changed_is_not_written_over(client, sheet):
    client.press("check", {CHORD: "52 mm"})
    sheet.write_text(TEXT + "# by hand\n", encoding="utf-8")
    assert "changed by another program" in client.press("save")
    assert sheet.read_text() == TEXT + "# by hand\n"


def test_an_old_page_changes_nothing(client):
    client.press("check", {CHORD: "52 mm"})
    page = client.press("check", {CHORD: "99 mm"}, revision="0" * 16)
    assert "older than the sheet" in page
    assert 'value="52 mm"' in page


def test_it_closes_when_all_is_saved_or_when_it_is_told_to_drop_the_rest(client, form):
    assert "Not closed" in client.press("close", {CHORD: "52 mm"})
    assert not form.closed.is_set()
    assert "Closed" in client.press("discard")
    assert form.closed.wait(5)


def test_nobody_else_reads_or_writes(client, form):
    assert client.ask("POST", "change", "do=save")[0].status == 403  # no page of ours sent it
    assert client.ask("POST", "change", "do=save", Origin="http://evil.example")[0].status == 403
    assert client.ask("GET", Host="evil.example")[0].status == 403
    stranger = Client(form.url.replace(form.key, "x" * len(form.key)))
    assert stranger.ask("GET")[0].status == 403
    assert client.ask("GET", "change")[0].status == 405
    answer, _ = client.ask("GET")
    assert "form-action 'self'" in answer.headers["Content-Security-Policy"]
    assert client.netloc.startswith("127.0.0.1:")


@pytest.mark.parametrize("body", ["do", "a=%ff", "&&&", "revision=" + "&x=1" * 30_000])
def test_what_is_no_form_is_refused(client, sheet, body):
    assert client.ask("POST", "change", body, **client.own)[0].status == 400
    assert sheet.read_text() == TEXT


def test_a_body_beyond_all_forms_is_refused(client):
    assert client.ask("POST", "change", "x" * (LONGEST_BODY + 1), **client.own)[0].status == 413


def test_what_is_no_toml_is_told_before_a_form_is_offered(tmp_path):
    path = tmp_path / "torn.rig.toml"
    path.write_text('aircraft = "Reed\n', encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "hingeline", "rig", "edit", str(path)], capture_output=True, check=False, timeout=30
    )
    assert done.returncode == 2
    assert b"torn.rig.toml:1: a quotation mark is missing" in done.stderr


def test_markup_in_the_sheet_stays_text(client):
    page = client.press("check", {name("aircraft"): '<script>"&amp;', name("surface", "flap"): "<b>"})
    assert "<script>" not in page
    assert "<b>" not in page


@pytest.mark.skipif(sys.platform == "win32", reason="Windows sends no such signal to a child alone")
def test_the_command_offers_the_form_saves_and_ends(sheet):
    command = [sys.executable, "-m", "hingeline", "rig", "edit", str(sheet), "--json"]
    environment = {**os.environ, "BROWSER": "true"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment) as program:
        client = Client(re.search(r"http://\S+/", program.stderr.readline().decode())[0])
        client.press("save", {CHORD: "52 mm"})
        client.press("close")
        assert program.wait(10) == 0
        assert b'"is_saved": true' in program.stdout.read()
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment) as program:
        program.stderr.readline()
        program.send_signal(signal.SIGINT)
        assert program.wait(10) == 130
    assert sheet.read_text() == TEXT.replace('"48 mm"', '"52 mm"')
