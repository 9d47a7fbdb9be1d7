"""The page over HTTP: who gets it, who does not, and what twenty phones cost the measurement."""

import http.client
import json
import socket
import struct
import threading
from urllib.parse import urlsplit

import pytest
from tests.host.live.states import BOTH, LOST, MATCH

from hingeline.errors import UsageProblem
from hingeline.live.page.server import Page
from hingeline.web import gate
from hingeline.web.address import checked, code
from hingeline.web.attempts import MOST_ADDRESSES, MOST_WRONG, WRONG_S, Attempts
from hingeline.web.gate import MOST_CLIENTS

PATIENCE_S = 20


class Client:
    """A client of the page; `key` and `host` may be wrong."""

    def __init__(self, page: Page):
        self.netloc, self.root = page.netloc, urlsplit(page.url).path
        self.own = {"Origin": f"http://{page.netloc}"}

    def ask(self, method, path, body=None, **headers):
        connection = http.client.HTTPConnection(self.netloc, timeout=PATIENCE_S)
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        text = answer.read()
        connection.close()
        return answer, text

    def status(self, method, path, body=None, **headers) -> int:
        return self.ask(method, path, body, **headers)[0].status

    def events(self):
        connection = http.client.HTTPConnection(self.netloc, timeout=PATIENCE_S)
        connection.request("GET", self.root + "events")
        return connection, connection.getresponse()


@pytest.fixture
def client(page):
    return Client(page)


def show_until(page, over, *states):
    """Show states, each until the event is set."""

    def run():
        while not over.wait(0.02):
            for state in states:
                page.show(state)

    thread = threading.Thread(target=run)
    thread.start()
    return thread


def told(answer) -> dict:
    """Return the next state of a stream."""
    for line in answer:
        if line.startswith(b"data: "):
            return json.loads(line.removeprefix(b"data: "))
    raise AssertionError("the stream has ended")


def test_the_page_is_whole_in_itself(client):
    answer, text = client.ask("GET", client.root)
    page = text.decode()
    assert answer.status == 200
    assert "://" not in page
    assert "src=" not in page
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert policy.count("'nonce-") == 2
    assert page.count("NONCE") == 0
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.headers["Referrer-Policy"] == "no-referrer"  # the address holds the key


@pytest.mark.parametrize("state", [BOTH, MATCH, LOST])
def test_a_state_comes_whole(page, client, state):
    over = threading.Event()
    thread = show_until(page, over, state)
    connection, answer = client.events()
    fields = told(answer)
    over.set()
    thread.join()
    connection.close()
    assert answer.headers["Content-Type"] == "text/event-stream"
    assert fields["ask"] == state.ask
    assert [(one["head"], one["word"]) for one in fields["sides"]] == [
        (f"{one.side.upper()}, mm to go", one.word) for one in state.gaps
    ]
    assert fields["sensors"] == [one.text for one in state.sensors]
    assert fields["alarms"] == [one.text for one in state.alarms]


@pytest.mark.parametrize("key", ["", "x", "é", "../", "AAAAAAAAAAAAAAAA"])
@pytest.mark.parametrize("where", ["", "events"])
def test_refused_without_the_key(client, key, where):
    assert client.status("GET", f"/{key.encode().hex() if key == 'é' else key}/{where}") == 403


def test_a_key_is_used_once(page):
    with Page("127.0.0.1") as other:
        assert other.key != page.key
        assert Client(other).status("GET", urlsplit(page.url).path) == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Host": "elsewhere.example"},
        {"Sec-Fetch-Site": "cross-site"},
    ],
)
def test_refused_from_another_origin(client, pressed, headers):
    assert client.status("GET", client.root + "events", **headers) == 403
    assert client.status("POST", client.root + "press", "units", **{**client.own, **headers}) == 403
    assert not pressed


def test_a_press_says_where_it_comes_from(client, pressed):
    assert client.status("POST", client.root + "press", "units") == 403
    assert not pressed


@pytest.mark.parametrize(
    ("method", "where", "allow"),
    [
        ("PUT", "", "GET"),
        ("DELETE", "events", "GET"),
        ("POST", "", "GET"),
        ("POST", "events", "GET"),
        ("HEAD", "", "GET"),
        ("OPTIONS", "press", "POST"),
        ("GET", "press", "POST"),
    ],
)
def test_wrong_methods_are_refused(client, method, where, allow):
    answer, _ = client.ask(method, client.root + where, **client.own)
    assert answer.status == 405
    assert answer.headers["Allow"] == allow


def test_nothing_else_is_there(client):
    assert client.status("GET", client.root + "etc/passwd") == 404
    assert client.status("GET", client.root + "../") == 404


def test_oversized_requests_are_refused(client, pressed):
    assert client.status("POST", client.root + "press", "units" * 100, **client.own) == 413
    assert client.status("POST", client.root + "press", "units", **client.own, **{"Content-Length": "-5"}) == 413
    assert client.status("GET", client.root + "x" * 1000) == 414
    assert client.status("GET", client.root + "x" * 70_000) == 414
    assert client.status("GET", client.root, **{f"X-{number}": "1" for number in range(200)}) == 431
    assert not pressed


def test_a_length_of_thousands_of_digits_is_refused_and_says_nothing_on_the_terminal(client, capfd):
    assert client.status("POST", client.root + "press", **client.own, **{"Content-Length": "9" * 5000}) == 413
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("head", [b"", b"GET / HTTP/1.1\r\nHost: ", b"POST / HTTP/1.1\r\nContent-Length: 9\r\n\r\n"])
def test_who_asks_byte_by_byte_is_let_go(monkeypatch, head):
    monkeypatch.setattr(gate, "PATIENCE_S", 0.3)
    with Page("127.0.0.1") as page, socket.create_connection(page.server_address) as stranger:
        stranger.settimeout(0.05)
        stranger.sendall(head)
        assert any(hung_up(stranger) for _ in range(200))


def hung_up(stranger: socket.socket) -> bool:
    """Send one more byte, and return whether the server has hung up."""
    try:
        stranger.sendall(b"x")
        return not stranger.recv(4096)
    except TimeoutError:
        return False
    except ConnectionError:
        return True


def test_keys_are_pressed(client, pressed):
    for key in ("take", "back", "units"):
        assert client.status("POST", client.root + "press", key, **client.own) == 204
    assert client.status("POST", client.root + "press", "quit", **client.own) == 400
    assert pressed == ["take", "back", "units"]


def test_a_page_is_read_only_unless_it_may_capture():
    with Page("127.0.0.1") as page:
        client = Client(page)
        assert client.status("POST", client.root + "press", "units", **client.own) == 403
        assert b"if (false)" in client.ask("GET", client.root)[1]


def test_only_so_many_clients(page, client):
    over = threading.Event()
    thread = show_until(page, over, BOTH)
    streams = [client.events() for _ in range(MOST_CLIENTS)]
    assert all(told(answer)["sides"] for _, answer in streams)
    with pytest.raises((http.client.HTTPException, ConnectionError)):
        client.ask("GET", client.root)
    for connection, answer in streams:
        answer.close()
        connection.close()
    over.set()
    thread.join()


def test_it_ends_while_phones_listen(pressed):
    with Page("127.0.0.1") as page:
        page.show(BOTH)
        connection, answer = Client(page).events()
        assert told(answer)
    assert not answer.read().strip()
    connection.close()
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(page.server_address, timeout=PATIENCE_S)


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "8.8.8.8", "localhost", "224.0.0.1", "192.168.1", ""])
def test_offered_on_one_address_of_a_local_network_alone(address):
    with pytest.raises(UsageProblem) as problem:
        checked(address)
    assert "192.168.1.20" in problem.value.cure


def test_an_address_that_is_another_computer_s():
    with pytest.raises(UsageProblem, match="can't be offered"):
        Page("192.168.213.77")


@pytest.mark.parametrize("written", ["::1", "0:0:0:0:0:0:0:1", "0000::0001"])
def test_an_ipv6_address_is_written_as_browsers_write_it(written):
    """RFC 5952: one spelling, in brackets in a URL; `Host` has that, however the address was given."""
    with Page(written) as page:
        host, _, port = page.netloc.rpartition(":")
        assert (host, page.url.startswith(f"http://[::1]:{port}/")) == ("[::1]", True)
        client = Client(page)
        assert client.status("GET", client.root) == 200
        assert client.status("GET", client.root, Host=f"[0:0:0:0:0:0:0:1]:{port}") == 403
        assert client.status("GET", client.root, Host=f"::1:{port}") == 403


@pytest.mark.parametrize("address", ["fe80::1", "fe80::1%eth0"])
def test_an_address_that_no_browser_opens_is_refused(address):
    """RFC 6874 put zones into URLs; browsers never took them (from memory)."""
    with pytest.raises(UsageProblem, match="needs a zone") as problem:
        checked(address)
    assert "192.168.1.20" in problem.value.cure


def test_the_code_fits_a_terminal():
    drawn = code("http://192.168.100.200:54321/AAAAAAAAAAAAAAAA/").splitlines()
    assert len(drawn) <= 18
    assert {len(line) for line in drawn} == {len(drawn[0])}
    assert len(drawn[0]) < 60
    assert set(drawn[0] + drawn[-1]) == {"█"}  # the quiet zone of ISO/IEC 18004 is light
    assert drawn[1].startswith("██ ")  # and a finder's corner, after two modules of it, dark


def test_who_guesses_is_not_listened_to_for_a_while(page, client):
    """429 is Too Many Requests, RFC 6585. The computer that offers the page may ask as often as it likes."""
    now_s = 1000.0
    page.attempts = Attempts(lambda: now_s)
    own, page.address = page.address, "192.168.213.77"
    wrong = [client.status("GET", f"/guess-{number}/") for number in range(MOST_WRONG + 1)]
    assert wrong == [403] * MOST_WRONG + [429]
    assert client.status("GET", client.root) == 429
    page.address = own
    assert client.status("GET", client.root) == 200
    page.address = "192.168.213.77"
    now_s += WRONG_S
    assert client.status("GET", client.root) == 200


def test_attempts_of_a_network_count_together_and_take_no_memory():
    attempts = Attempts(lambda: 0.0)
    for number in range(MOST_WRONG):
        attempts.note_wrong(f"fe80::{number}%eth0")
    assert attempts.is_guessing("fe80::ffff")
    assert not attempts.is_guessing("fd00::1")
    for number in range(2 * MOST_ADDRESSES):
        attempts.note_wrong(f"10.0.{number // 256}.{number % 256}")
    assert len(attempts._wrong_s) == MOST_ADDRESSES
    assert not attempts.is_guessing("fe80::ffff")


def test_a_phone_that_goes_away_in_mid_stream_says_nothing_on_the_terminal(page, client, capfd):
    """It resets its connection, as one that leaves the network does: with a linger of 0 s (RFC 9293, 3.10.4)."""
    over = threading.Event()
    thread = show_until(page, over, BOTH)
    phone = socket.create_connection(page.server_address, timeout=PATIENCE_S)
    phone.sendall(f"GET {client.root}events HTTP/1.1\r\nHost: {page.netloc}\r\n\r\n".encode())
    assert phone.recv(4096)
    phone.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    phone.close()
    other, stream = client.events()
    for _ in range(5):
        assert told(stream)
    stream.close()
    other.close()
    over.set()
    thread.join()
    assert capfd.readouterr() == ("", "")
