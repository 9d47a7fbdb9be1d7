"""The real host on the real firmware over a bad wire: no wrong sample, exact books, no end but the documented one."""

from __future__ import annotations

import itertools
from collections import Counter, defaultdict
from random import Random

import pytest
from tests.boards import ALPHA, LEFT, RIGHT, take
from tests.faults.cable import FAULTS, Spoiler, at_once

from hingeline.device.link.fleet import Fleet
from hingeline.device.link.replay import Replay
from hingeline.device.samples import BoardGone, Sample
from hingeline.errors import HingelineError
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import lines


def read_back(uid, sent):
    """Return by sensor id what sample lines say, read without the host's own parser: (sequence, counts, rest)."""
    told = defaultdict(list)
    for line in sent:
        if line.startswith(b"s "):
            sensor, sequence, _, readings, x, y, z, temperature_cc = map(int, line.split(b"*")[0].split()[1:])
            celsius = None if temperature_cc == -32768 else temperature_cc / 100
            counts = (x / readings, y / readings, z / readings)
            told[f"{uid}-{sensor}"].append((sequence, counts, readings, celsius))
    return told


def accepted(events):
    """Return by sensor id what the host took from the samples, as `read_back`."""
    taken = defaultdict(list)
    for event in events:
        if isinstance(event, Sample):
            taken[event.sensor_id].append((event.sequence, event.counts, event.readings, event.temperature_c))
    return taken


def begins_in(sent, taken):
    """Return whether what was taken is all of what was sent from some line on, without a gap."""
    begin = sent.index(taken[0])
    return sent[begin : begin + len(taken)] == taken


def gaps(told):
    """Return how many lines the board itself left out."""
    rows = [[row[0] for row in rows] for rows in told.values()]
    return sum((b - a - 1) % 65536 for row in rows for a, b in itertools.pairwise(row))


def jerky(rng):
    """Return a pace: a few bytes at a time, now and then late, seldom so late that the host asks what is wrong."""

    def pace(data):
        pieces = []
        while data:
            size = rng.choice((1, 2, 7, 60, 400))
            wait_s = rng.choices((0.0, 0.01, 0.7), (4500, 500, 1))[0]
            pieces.append((wait_s, data[:size]))
            data = data[size:]
        return pieces

    return pace


@pytest.mark.parametrize(
    ("seed", "samples"), [(1, 600), *(pytest.param(n, 20_000, marks=pytest.mark.long) for n in range(2, 7))]
)
def test_no_wrong_sample_passes_a_bad_wire_and_the_counts_are_what_it_did(cable_to, seed, samples):
    spoiler = Spoiler(seed, share=0.0)
    cable = cable_to("alpha", spoiler)
    with Fleet([cable.name]) as fleet:
        fleet.start()
        events = take(fleet, 20)
        spoiler.share, cable.pace = 0.25, jerky(Random(seed))
        events += take(fleet, samples)
        spoiler.share, cable.pace = 0.0, at_once
        whole = len(spoiler.passed)
        while len(spoiler.passed) < whole + 40:  # so every sensor speaks once more, and what it lost shows
            events += take(fleet, 1)
        fleet.stop()
        events += fleet
        (counts,) = fleet.counts.values()
    assert set(spoiler.done) == set(FAULTS)
    sent, passed = read_back("a1", cable.sent), read_back("a1", spoiler.passed)
    assert set(sent) == set(ALPHA)
    assert accepted(events) == passed
    assert counts.bad == spoiler.damaged
    assert counts.repeated == spoiler.repeated
    assert sum(counts.lost.values()) == spoiler.lost + gaps(sent)
    assert (counts.unknown, counts.resets, counts.faults) == (0, 0, 0)


def test_a_wire_that_stalls_for_a_second_hands_over_all_of_it(cable_to):
    cable = cable_to("alpha")
    with Fleet([cable.name]) as fleet:
        fleet.start()
        events = take(fleet, 20)
        stalls = iter([1.0])
        cable.pace = lambda data: [(next(stalls, 0.0), data)]
        events += take(fleet, 600)
        fleet.stop()
        events += fleet
        (counts,) = fleet.counts.values()
    assert next(stalls, None) is None
    sent, taken = read_back("a1", cable.sent), accepted(events)
    assert all(begins_in(sent[name], taken[name]) for name in ALPHA)
    assert (counts.bad, counts.repeated, sum(counts.lost.values())) == (0, 0, gaps(sent))


@pytest.mark.parametrize("seeds", [range(2), pytest.param(range(2, 60), marks=pytest.mark.long)], ids=["few", "many"])
def test_questions_over_a_bad_wire_have_the_right_answer_or_a_documented_end(cable_to, seeds):
    cable = cable_to("alpha")
    ends = Counter()
    for seed in seeds:
        content = Random(seed).randbytes(300)
        cable.spoil, cable.spoil_request = Spoiler(seed, 0.04), Spoiler(1000 + seed, 0.04)
        try:
            with Fleet([cable.name]) as fleet:
                assert tuple(fleet.sensors) == ALPHA
                (link,) = fleet.boards
                link.store_calibration(LEFT, content)
                assert link.fetch_calibration(LEFT) == content
                fleet.start()
                take(fleet, 30)
                fleet.stop()
                list(fleet)
                assert link.status().streaming == 0
            ends["right"] += 1
        except HingelineError as error:
            ends[type(error).__name__] += 1
            print(seed, error, cable.spoil.done, cable.spoil_request.done)
    assert set(ends) <= {"right", "BoardLost"}, ends
    assert ends["right"] > 0.8 * len(seeds), ends


def test_the_last_piece_may_be_repeated_when_its_answer_was_lost(cable_to):
    cable = cable_to("alpha")
    last = []

    def watch(request):
        words = request.split(b"*")[0].split(b" ")
        if words[0] == b"put" and int(words[3]) == int(words[4]) - 1 and not last:
            last.append(b"ok " + words[1] + b"*")
        return request

    cable.spoil_request = watch
    cable.spoil = lambda line: b"" if last and line.startswith(last[0]) else line
    with Fleet([cable.name]) as fleet:
        (link,) = fleet.boards
        content = bytes(range(200))
        link.store_calibration(RIGHT, content)
        assert last
        assert link.fetch_calibration(RIGHT) == content


def test_a_restart_is_told_though_its_announcement_was_lost(bench, cable_to):
    cable = cable_to("beta")
    with Fleet([cable.name]) as fleet:
        fleet.start()
        take(fleet, 20)
        cable.spoil = lambda line: b"" if line.split(b" ")[1:2] == [b"0"] else line
        bench.begin("reset", board="beta")
        gone = [event for event in fleet if isinstance(event, BoardGone)]
    assert "restarted" in str(gone[0].error)


def test_a_board_that_comes_back_under_another_name_is_the_same_board(cable_to, tmp_path):
    path = tmp_path / "1-throws.log"
    runs, names, sent = [], [], []
    with Recorder(path) as recorder:
        for _ in range(2):
            cable = cable_to("alpha")
            with Fleet([cable.name]) as fleet:
                fleet.record(recorder.lines)
                fleet.start()
                events = take(fleet, 60)
                cable.pull()
                events += fleet
            assert isinstance(events.pop(), BoardGone)
            assert tuple(fleet.sensors) == ALPHA
            runs.append(accepted(events))
            names.append(cable.name)
            sent.append(read_back("a1", cable.sent))
    for run, there in zip(runs, sent, strict=True):
        assert all(begins_in(there[name], run[name]) for name in ALPHA)
    assert accepted(Replay(lines(path))) == {name: runs[0][name] + runs[1][name] for name in ALPHA}


def test_two_boards_that_change_places_keep_their_sensors(cable_to, tmp_path):
    ports = [tmp_path / "first", tmp_path / "second"]
    for places in (("alpha", "beta"), ("beta", "alpha")):
        cables = dict(zip(places, map(cable_to, places), strict=True))
        for port, board in zip(ports, places, strict=True):
            port.unlink(missing_ok=True)
            port.symlink_to(cables[board].name)
        with Fleet([str(port) for port in ports]) as fleet:
            assert set(fleet.sensors) == {*ALPHA, f"b2-{LEFT}"}
            fleet.start()
            events = take(fleet, 150)
            for cable in cables.values():
                cable.pull()
            events += fleet
        taken = accepted(events)
        sent = {**read_back("a1", cables["alpha"].sent), **read_back("b2", cables["beta"].sent)}
        assert set(taken) == set(sent)
        assert all(begins_in(sent[name], taken[name]) for name in sent)
