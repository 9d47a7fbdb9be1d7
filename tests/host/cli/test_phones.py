"""Phones that show the page while a command measures."""

import http.client
import json
import re
import shutil
import threading
from collections import defaultdict, deque
from contextlib import suppress
from urllib.parse import urlsplit

import pytest
from tests.host.person import Person, session_of

from hingeline.demo.job import SCENARIO
from hingeline.device.link.fleet import Fleet
from hingeline.device.link.replay import Replay
from hingeline.storage.records import lines
from hingeline_virtual.client import VirtualBench

PHONES = 20


def attack(url, over):
    """Ask without the key, without end."""
    while not over.is_set():
        with suppress(OSError, http.client.HTTPException):
            connection = http.client.HTTPConnection(url.netloc, timeout=30)
            connection.request("GET", "/guess/")
            connection.getresponse().read()
            connection.close()


@pytest.mark.long
def test_twenty_phones_and_an_attacker_for_a_minute_cost_no_line(calibrated_home, sheet, tmp_path):
    """At the pace of a real bench; the minute is the bench's, which is longer where this machine does not keep up."""
    scenario = tmp_path / "bench.toml"
    scenario.write_text(SCENARIO.read_text("utf-8").replace("speed = 5", "speed = 1"), "utf-8")
    shown = threading.Semaphore(0)
    last = []

    def listen(url):
        connection = http.client.HTTPConnection(url.netloc, timeout=30)
        connection.request("GET", url.path + "events")
        pictures = (line for line in connection.getresponse() if line.startswith(b"data: "))
        next(pictures)
        shown.release()
        last.extend(deque(pictures, maxlen=1))
        connection.close()

    over = threading.Event()
    with VirtualBench(scenario) as bench:
        person = Person(bench, shutil.copytree(calibrated_home, tmp_path / "home"))
        person.tape("flap")
        told, phones, waiting = "", [], list(person.throws("flap"))
        with person.start("throws", sheet, "flap", "--page") as command:
            for line in command.stderr:
                told += line
                if found := re.match("Page: (.*)", line):
                    url = urlsplit(found[1])
                    phones = [threading.Thread(target=listen, args=(url,)) for _ in range(PHONES)]
                    phones.append(threading.Thread(target=attack, args=(url, over)))
                    for phone in phones:
                        phone.start()
                if waiting and re.search(waiting[0][0], line):
                    if len(waiting) == 3:
                        for _ in range(PHONES):
                            shown.acquire()
                        bench.do("wait", for_s=60)
                    waiting.pop(0)[1]()
        over.set()
        for phone in phones:
            phone.join()
        with Fleet(list(bench.ports.values())) as fleet:
            (board,) = fleet.boards
            state = board.status()
    assert command.returncode == 6, told
    assert (state.late, state.dropped) == (0, 0)
    taken = [int(json.loads(picture.removeprefix(b"data: "))["taken"].split()[0]) for picture in last]
    assert len(taken) == PHONES
    assert min(taken) > 1, "a phone saw nothing after the minute"
    replay = Replay(lines(session_of(told)))
    times_s = defaultdict(list)
    for event in replay:
        times_s[event.sensor_id].append(event.time_s)
    for taken_s in times_s.values():
        assert taken_s[-1] - taken_s[0] > 60
    for counts in replay.counts.values():
        assert (sum(counts.lost.values()), counts.bad, counts.repeated) == (0, 0, 0)
