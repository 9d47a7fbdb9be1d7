"""The link on real firmware: MicroPython on the virtual bench, over a pty or TCP."""

import itertools
from time import monotonic

import pytest
from serial.tools.list_ports_common import ListPortInfo
from tests.boards import ALPHA, LEFT, RIGHT, take

from hingeline.device.link import ports
from hingeline.device.link.decoder import Line
from hingeline.device.link.fleet import Fleet
from hingeline.device.link.replay import Replay
from hingeline.device.link.times import Mark
from hingeline.device.samples import BoardGone, Sample, SensorFault
from hingeline.errors import BoardLost, BoardRefused, NoBoard, StoreError, UsageProblem, WrongFirmware
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import lines, read
from hingeline_protocol.line import seal, unseal
from hingeline_protocol.messages import STORED_BYTES, Ok, pack, parse


def until(fleet, kind):
    """Return the events up to the next of a kind."""
    events = []
    for event in fleet:
        events.append(event)
        if isinstance(event, kind):
            break
    return events


def test_a_board_introduces_itself_and_its_sensors(fleet):
    (link,) = fleet.boards
    assert link.board.board == "pico"
    assert [(s.sensor_id, s.chip, s.counts_per_g, s.state) for s in fleet.sensors.values()] == [
        (f"a1-{LEFT}", "mpu6050", 16384, "ok"),
        (f"a1-{RIGHT}", "lis3dh", 16000, "ok"),
    ]
    assert fleet.locate(f"a1-{RIGHT}") == (link, RIGHT)
    with pytest.raises(NoBoard, match="a1-7 is not plugged in"):
        fleet.locate("a1-7")


def test_a_board_blinks_when_it_is_asked_to(fleet):
    (link,) = fleet.boards
    assert link.identify()


def test_samples_come_at_the_board_s_rate_over_the_wrap_of_its_ticks(own_fleet):
    own_fleet.start(lines_hz=50, readings=4)
    events = take(own_fleet, 120)
    for sensor_id in ALPHA:
        own = [event for event in events if event.sensor_id == sensor_id and event.readings == 4]
        steps = [b.time_s - a.time_s for a, b in itertools.pairwise(own)]
        assert steps == pytest.approx([0.02] * len(steps), abs=0.002)
        assert [b.sequence - a.sequence for a, b in itertools.pairwise(own)] == [1] * len(steps)
    times_s = [event.time_s for event in events]
    assert times_s == sorted(times_s)
    (counts,) = own_fleet.counts.values()
    assert (counts.bad, counts.unknown, counts.lost, counts.resets) == (0, 0, {}, 0)


def test_a_level_sensor_reads_one_g(fleet, bench):
    bench.do("place", sensor="all", face="+z")
    fleet.start()
    for event in take(fleet, 10):
        assert event.counts[2] / fleet.sensors[event.sensor_id].counts_per_g == pytest.approx(1.0, abs=0.02)


def test_iterating_ends_after_stop_and_a_new_start_is_fresh(fleet):
    fleet.start()
    first = take(fleet, 10)
    fleet.stop()
    rest = list(fleet)
    fleet.start()
    again = take(fleet, 2)
    assert again[0].time_s > max(event.time_s for event in first + rest)


def test_a_board_keeps_a_calibration(own_fleet):
    (link,) = own_fleet.boards
    assert link.fetch_calibration(LEFT) is None
    for data in (b"{}", bytes(range(256)) * 3):
        link.store_calibration(LEFT, data)
        assert link.fetch_calibration(LEFT) == data
    assert link.fetch_calibration(RIGHT) is None
    with pytest.raises(UsageProblem, match=f"1 to {STORED_BYTES}"):
        link.store_calibration(LEFT, bytes(STORED_BYTES + 1))


def test_a_refusal_is_told_with_its_code(fleet):
    (link,) = fleet.boards
    with pytest.raises(BoardRefused, match="refused `selftest`") as refusal:
        link.self_test(9)
    assert (refusal.value.code, refusal.value.exit_status) == ("sensor", 7)
    with pytest.raises(BoardRefused) as refusal:
        link.start(lines_hz=5000, readings=1)
    assert refusal.value.code == "range"


def test_status_and_self_test_are_answered(fleet):
    (link,) = fleet.boards
    assert link.status().streaming == 0
    assert link.self_test(LEFT).sensor == LEFT


def test_a_pulled_board_is_told_at_once_and_the_session_is_kept(own_fleet, own_bench, tmp_path):
    path = tmp_path / "1-throws.log"
    with Recorder(path) as recorder:
        own_fleet.record(recorder.lines)
        own_fleet.start()
        seen = take(own_fleet, 20)
        pulled_s = monotonic()  # what is promised is a time: an alarm within 0.5 s
        own_bench.do("unplug", board="alpha")
        seen += until(own_fleet, BoardGone)
        gone = seen.pop()
        recorder.event("gone")
    assert gone.time_s - pulled_s < 0.5
    assert gone.error.exit_status == 3
    assert "was pulled out" in str(gone.error)
    assert list(own_fleet) == []
    assert list(Replay(lines(path))) == seen
    assert [getattr(record, "kind", "line") for record in read(path)][-1] == "gone"
    with pytest.raises(BoardLost):
        own_fleet.start()


def test_a_silent_board_is_lost_within_three_seconds(cable, tmp_path):
    path = tmp_path / "1-throws.log"
    with Fleet([cable.name]) as fleet, Recorder(path) as recorder:
        fleet.record(recorder.lines)
        fleet.start()
        take(fleet, 20)
        cable.spoil = lambda line: b""
        gone = until(fleet, BoardGone)[-1]
    last_s = [line.arrival_ns for line in lines(path)][-1] * 1e-9
    assert gone.time_s - last_s < 3
    assert "fell silent" in str(gone.error)


def test_a_restarted_board_is_lost(own_fleet, own_bench):
    own_fleet.start()
    take(own_fleet, 20)
    own_bench.begin("reset", board="alpha")
    gone = until(own_fleet, BoardGone)[-1]
    assert "restarted" in str(gone.error)
    assert own_fleet.counts[own_fleet.boards[0].port].resets == 1


def test_another_board_in_mid_stream_is_a_loss(cable):
    with Fleet([cable.name]) as fleet:
        fleet.start()
        take(fleet, 20)
        others = iter([seal(b"board 0 1 0.1.0 pico b2 1"), seal(b"sensor 0 7 mpu6050 0 7 16384 200 44 absolute ok")])
        cable.spoil = lambda line: next(others, b"") + line
        events = until(fleet, BoardGone)
    assert "leads to another board now" in str(events[-1].error)
    assert {event.sensor_id for event in events[:-1]} <= set(ALPHA)


def test_a_lost_chip_is_told_its_board_is_not_lost_and_it_comes_back(own_fleet, own_bench):
    own_fleet.start()
    take(own_fleet, 20)
    for sensor in ("left", "right"):
        own_bench.do("fault", sensor=sensor, kind="absent")
    first, second = (until(own_fleet, SensorFault)[-1] for _ in range(2))
    assert {(event.sensor_id, event.code) for event in (first, second)} == {(name, "lost") for name in ALPHA}
    own_bench.do("wait", for_s=1.0)  # nothing streams for longer than a lost board would be given
    for sensor in ("left", "right"):
        own_bench.do("mend", sensor=sensor)
    first, second = (until(own_fleet, SensorFault)[-1] for _ in range(2))
    assert {(event.sensor_id, event.code) for event in (first, second)} == {(name, "back") for name in ALPHA}
    assert {event.sensor_id for event in take(own_fleet, 20) if isinstance(event, Sample)} == set(ALPHA)
    assert set(own_fleet.counts[own_fleet.boards[0].port].lost) == set(ALPHA)


def test_what_nobody_asked_for_is_not_kept(cable):
    """A board that answers without end fills no memory, and no request waits for ever."""
    with Fleet([cable.name]) as fleet:
        talk = fleet.boards[0]
        cable.spoil = lambda line: line + pack(Ok(9)) * 50
        fleet.start()
        take(fleet, 20)
        assert talk._answers.qsize() < 200
        assert fleet.boards[0].status().streaming


def test_damaged_answers_are_asked_for_again(cable):
    damaged = iter([True, False, True, True, False, False] + [False] * 50 + [True])
    cable.spoil = lambda line: line[1:] if next(damaged, False) else line
    with Fleet([cable.name]) as fleet:
        assert list(fleet.sensors) == list(ALPHA)
        (link,) = fleet.boards
        link.store_calibration(RIGHT, b"x" * 1000)
        assert link.fetch_calibration(RIGHT) == b"x" * 1000


def test_another_protocol_version_is_refused_with_both_and_the_cure(cable):
    def newer(line):
        if not line.startswith(b"board "):
            return line
        return pack(parse(unseal(line))._replace(protocol=2, firmware="9.0"))

    cable.spoil = newer
    with pytest.raises(WrongFirmware, match=r"protocol 2 \(firmware 9.0\), this computer 1.*pip install") as error:
        Fleet([cable.name])
    assert error.value.exit_status == 5


def test_a_board_that_knows_no_common_version_says_so(cable):
    cable.spoil = lambda line: (
        seal(b"err %s version speaks 2 to 3" % line.split(b" ")[1]) if line.startswith(b"board ") else line
    )
    with pytest.raises(WrongFirmware, match=r"version 1; it says .*speaks 2 to 3"):
        Fleet([cable.name])


def test_two_boards_are_one_source_and_one_lost_leaves_the_other(two_boards):
    with Fleet(list(two_boards.ports.values())) as fleet:
        assert list(fleet.sensors) == [*ALPHA, "b2-104"]
        fleet.start()
        events = take(fleet, 120)
        assert {event.sensor_id for event in events} == set(fleet.sensors)
        disorder = [b.time_s - a.time_s for a, b in itertools.pairwise(events) if b.time_s < a.time_s]
        assert len(disorder) <= 2, "only before both boards have spoken"
        two_boards.do("unplug", board="beta")
        assert two_boards.ports["beta"] in str(until(fleet, BoardGone)[-1].error)
        assert {event.sensor_id for event in take(fleet, 40)} == set(ALPHA)
        fleet.stop()
        list(fleet)


def test_two_boards_of_one_id_are_not_mixed(bench, tcp_bench):
    named = [bench.ports["alpha"], tcp_bench.ports["alpha"]]
    with pytest.raises(UsageProblem, match=f"{named[0]} and {named[1]} both lead to a sensor a1-{LEFT}"):
        Fleet(named)
    with Fleet(named[:1]) as fleet:
        assert tuple(fleet.sensors) == ALPHA


def test_a_recording_of_two_boards_has_their_events_in_one_order_and_what_was_dropped_stays_so(two_boards, tmp_path):
    path = tmp_path / "1-throws.log"
    with Fleet(list(two_boards.ports.values())) as fleet, Recorder(path) as recorder:
        fleet.record(recorder.lines)
        fleet.start()
        seen = take(fleet, 100)
        while fleet.counts[fleet.boards[1].port].lines < 200:
            take(fleet, 1)  # the user is asked meanwhile, and nobody looks
        fleet.mark(lambda: recorder.event("resumed"))
        after = take(fleet, 100)
        fleet.record_no_more()
    replay = Replay(
        record if isinstance(record, Line) else Mark()
        for record in read(path)
        if isinstance(record, Line) or record.kind == "resumed"
    )
    assert take(replay, 100) == seen
    replay.skip()
    assert take(replay, 100) == after
    assert after[0].time_s > seen[-1].time_s


def test_a_user_may_be_waited_for_all_night(own_fleet):
    """What nobody will look at is not kept; what comes after the mark is."""
    own_fleet.start()
    seen = take(own_fleet, 10)
    own_fleet.drop_until_mark()
    counts = own_fleet.boards[0].counts
    kept, until = own_fleet._arrived.qsize(), counts.lines + 200
    while counts.lines < until:
        own_fleet.boards[0].status()
    assert own_fleet._arrived.qsize() <= kept
    own_fleet.mark(lambda: None)
    assert take(own_fleet, 10)[0].time_s > seen[-1].time_s


def test_boards_are_found_among_the_ports(bench, pty_end, monkeypatch):
    board, stranger, builtin = (ListPortInfo(name) for name in (bench.ports["alpha"], pty_end[1], "/dev/ttyS0"))
    stranger.vid, board.vid = 0x1234, 0x2E8A
    monkeypatch.setattr(ports.list_ports, "comports", lambda: [stranger, builtin, board])
    monkeypatch.setattr("hingeline.device.link.conversation.START_S", 0.5)
    assert [candidate.port for candidate in ports.discover()] == [board.device, stranger.device]
    with Fleet() as fleet:
        assert [link.port for link in fleet.boards] == [board.device]
        assert list(fleet.passed_over) == [stranger.device]


def test_no_port_at_all_is_told(monkeypatch):
    monkeypatch.setattr(ports.list_ports, "comports", list)
    with pytest.raises(NoBoard, match="Plug a board in"):
        Fleet()


def test_over_tcp(tcp_bench):
    with Fleet([tcp_bench.ports["alpha"]]) as fleet:
        fleet.start()
        assert len(take(fleet, 20)) == 20
        tcp_bench.do("unplug", board="alpha")
        assert "was pulled out" in str(until(fleet, BoardGone)[-1].error)


def test_a_full_disk_while_recording_reaches_the_measurement(fleet):
    room = iter(range(20))

    def write(lines):
        if next(room, None) is None:
            raise StoreError("The disk is full", "Free some space")

    fleet.record(write)
    fleet.start()
    with pytest.raises(StoreError, match="disk is full"):
        until(fleet, BoardGone)
