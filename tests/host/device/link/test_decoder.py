"""Lines into events: nothing damaged passes, every loss is counted."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.spoilt import FEW

from hingeline.device.link.decoder import Decoder, Line, Splitter, sample_fields
from hingeline.device.samples import Sample, SensorFault
from hingeline_protocol import messages
from hingeline_protocol.line import LINE_LIMIT, LineError, seal, unseal

BOARD = messages.Board(1, 1, "0.1.0", "pico", "e6614103e7", 2)
SENSORS = [
    messages.Sensor(1, 0, "mpu6050", 0, 0x68, 16384, 1000, 44, "absolute", "ok"),
    messages.Sensor(1, 1, "lis3dh", 1, 0x18, 16000, 100, 50, "relative", "ok"),
]


@pytest.fixture
def decoder():
    decoder = Decoder("COM7")
    for message in (BOARD, *SENSORS):
        tell(decoder, message)
    return decoder


def tell(decoder, message, arrival_ns=0):
    return decoder.decode(Line("COM7", arrival_ns, messages.pack(message).rstrip(b"\n")))


def sample(sequence, sensor=0, ticks_us=0, temperature_cc=2512):
    return messages.Sample(sensor, sequence, ticks_us, 4, -40, 8, 65536, temperature_cc)


def test_a_sample_is_the_mean_of_its_readings(decoder):
    event = tell(decoder, sample(7), arrival_ns=3_000_000_000)
    assert event == Sample("e6614103e7-0", 3.0, (-10.0, 2.0, 16384.0), 4, 25.12, 7)


def test_no_temperature_is_none(decoder):
    assert tell(decoder, sample(7, temperature_cc=messages.NO_TEMPERATURE_CC)).temperature_c is None


def test_sensors_are_named_by_board_and_index(decoder):
    assert [info.sensor_id for info in decoder.sensors.values()] == ["e6614103e7-0", "e6614103e7-1"]
    assert decoder.sensors[1].counts_per_g == 16000


def test_lost_lines_are_counted_per_sensor_and_over_the_wrap(decoder):
    for sequence in (65533, 65534, 2, 3):  # 65535, 0, 1 are missing
        assert tell(decoder, sample(sequence)) is not None
    for sequence in (10, 11):
        tell(decoder, sample(sequence, sensor=1))
    assert decoder.counts.lost == {"e6614103e7-0": 3}


def test_a_repeated_line_is_dropped(decoder):
    kept = [tell(decoder, sample(sequence)) for sequence in (5, 6, 6, 5, 7)]
    assert [event.sequence for event in kept if event] == [5, 6, 7]
    assert (decoder.counts.repeated, decoder.counts.lost) == (2, {})


@pytest.mark.parametrize(("back", "is_repeated"), [(1, True), (63, True), (64, False), (300, False)])
def test_the_last_64_lines_may_come_again_and_older_numbers_are_a_new_count(decoder, back, is_repeated):
    """What a cable holds back and sends twice is a second of lines; common practice, no source."""
    tell(decoder, sample(1000))
    assert (tell(decoder, sample(1000 - back)) is None) is is_repeated
    assert (decoder.counts.repeated, decoder.counts.lost) == (int(is_repeated), {})


def test_a_restarted_board_begins_a_new_count(decoder):
    tell(decoder, sample(900, ticks_us=80_000_000), arrival_ns=1_000_000_000)
    tell(decoder, BOARD._replace(request=0))
    event = tell(decoder, sample(0, ticks_us=1000), arrival_ns=2_000_000_000)
    assert event.time_s == 2.0
    assert (decoder.counts.resets, decoder.counts.lost) == (1, {})


def test_another_board_at_the_port_brings_its_own_sensors(decoder):
    tell(decoder, BOARD._replace(uid="77", sensors=0))
    assert decoder.sensors == {}
    assert tell(decoder, sample(0)) is None
    assert decoder.counts.unknown == 1


def test_a_fault_is_an_event(decoder):
    fault = tell(decoder, messages.Fault(1, 12, 0, "lost", 5), arrival_ns=4_000_000_000)
    assert fault == SensorFault("e6614103e7-1", 4.0, "lost", 5)
    assert decoder.counts.faults == 1


def test_what_the_board_says_unasked_is_kept(decoder):
    tell(decoder, messages.Err(0, "chip", "no chip at 0x69"))
    tell(decoder, messages.Err(0, "checksum", "a line came damaged"))
    assert list(decoder.notices) == ["no chip at 0x69"]


def test_answers_are_handed_on(decoder):
    assert tell(decoder, messages.Ok(4)) == messages.Ok(4)


def test_the_tail_of_a_line_at_the_start_is_not_counted_as_bad():
    decoder = Decoder("COM7")
    for raw in (b"2 44 9*01", b"2 44 9*01"):
        assert decoder.decode(Line("COM7", 0, raw)) is None
    assert decoder.counts.bad == 1


def test_a_checksum_has_one_spelling(decoder):
    """One bit makes a small letter of a large one: damage, whatever number it spells."""
    for sequence in range(50):
        body, _, checksum = messages.pack(sample(sequence)).rstrip(b"\n").rpartition(b"*")
        if checksum != checksum.lower():
            assert decoder.decode(Line("COM7", 0, body + b"*" + checksum.lower())) is None
    assert decoder.counts.bad > 40


@pytest.mark.parametrize("digits", [247, 248, 300, 1000])
def test_a_sample_line_that_is_too_long_is_bad_however_sound(decoder, digits):
    """A line is of 256 bytes at most, checksum and line feed in it: 246 are left for the body (PROTOCOL.md)."""
    body = b"s 0 7 1000 4 1 2 3 "
    raw = seal(body + b"0" * (digits - len(body)))[:-1]
    assert sample_fields(raw) is None
    assert decoder.decode(Line("COM7", 0, raw)) is None
    assert decoder.counts.bad == 1


def test_empty_lines_are_skipped(decoder):
    before = decoder.counts.lines
    assert [decoder.decode(Line("COM7", 0, raw)) for raw in (b"", b"\r")] == [None, None]
    assert (decoder.counts.lines, decoder.counts.bad) == (before, 0)


def test_samples_before_the_introduction_are_passed_over():
    decoder = Decoder("COM7")
    assert tell(decoder, sample(1)) is None
    assert decoder.counts.unknown == 0


@given(
    st.tuples(
        st.integers(0, 3),
        st.integers(0, 65535),
        st.integers(0, 2**30 - 1),
        st.integers(1, 200),
        *[st.integers(-(2**31), 2**31 - 1)] * 3,
        st.integers(-32768, 32767),
    )
)
def test_the_direct_way_reads_what_the_protocol_reads(fields):
    raw = messages.pack(messages.Sample(*fields))
    assert sample_fields(raw) == messages.parse(unseal(raw)) == fields


@pytest.mark.parametrize("field", range(8))
@pytest.mark.parametrize("spelling", [b"0%d", b"+%d", b"-0%d", b"%d_0", b"\t%d", b"%d\x0b", b"%d.", b""])
def test_a_number_has_one_spelling(field, spelling):
    """The ABNF of PROTOCOL.md: no `+`, no leading zero, no `-0`, and nothing but digits."""
    numbers = [b"%d" % number for number in (0, 7, 1000, 4, 1, 2, 3, 2500)]
    assert sample_fields(seal(b"s " + b" ".join(numbers)))
    number = int(numbers[field])
    numbers[field] = spelling % number if spelling else b""
    assert sample_fields(seal(b"s " + b" ".join(numbers))) is None


def test_a_sensor_with_a_large_number_is_read_all_the_same(decoder):
    """Bus 3, address 0x18: bus × 128 + address (PROTOCOL.md)."""
    tell(decoder, SENSORS[1]._replace(sensor=408, bus=3))
    assert tell(decoder, sample(1, sensor=408)).sensor_id == "e6614103e7-408"


ALLOWED = [
    BOARD,
    *SENSORS,
    sample(0),
    messages.Fault(1, 0, 0, "lost", 5),
    messages.State(1, 0, 50, 4, 9, 0, 0, 0, 0, 0, 0),
    messages.Tested(1, 0, -5, 5, 5, 0, 0, 0),
    messages.Piece(1, 0, 0, 128, "0123ABCD", b"x"),
    messages.Reachable(1, "192.168.1.20", 8771),
    messages.Nonce(1, "a1", bytes(16)),
]
WRONG = {
    "request": [-1, 65536],
    "protocol": [0, -1],
    "uid": ["../a1", "A1", "a" * 65],
    "sensors": [-1],
    "sensor": [-1],
    "bus": [-1],
    "address": [-1, 128, "bench", "1.2.3"],
    "counts_per_g": [0, -16384],
    "rate_hz": [0, -1],
    "filter_hz": [-1],
    "thermometer": ["celsius"],
    "state": ["fine"],
    "sequence": [-1, 65536],
    "ticks_us": [-1, 1 << 30],
    "readings": [0, -1, 201],
    "temperature_cc": [-32769, 32768],
    "code": ["gone"],
    "streaming": [-1, 2],
    "lines_hz": [0, 201],
    "uptime_s": [-1],
    "heap": [-1],
    "x_trim": [-1],
    "piece": [-1, 128],
    "pieces": [0, 129, 2_000_000_000],
    "crc": ["0123abcd", "0123ABC"],
    "data": [b"", bytes(65)],
    "port": [-1, 65536],
    "nonce": [bytes(15), bytes(17)],
}
"""By field, what the tables of PROTOCOL.md do not allow."""


@pytest.mark.parametrize("message", ALLOWED)
def test_what_the_protocol_does_not_allow_is_counted_and_goes_no_further(message):
    for name in message._fields:
        for value in WRONG.get(name, []):
            if isinstance(value, type(getattr(message, name))):
                decoder = Decoder("COM7")
                for each in (BOARD, *SENSORS, message):
                    tell(decoder, each)
                assert decoder.counts.unknown == 0, message
                assert tell(decoder, message._replace(**{name: value})) is None, (name, value)
                assert decoder.counts.unknown == 1, (name, value)


@pytest.mark.parametrize("field", range(8))
def test_a_sample_line_has_no_number_beyond_32_bits(decoder, field):
    fields = [*sample(1)]
    fields[field] = 1 << 31
    assert decoder.decode(Line("COM7", 0, seal(messages.SAMPLE_FORMAT % tuple(fields)))) is None


def test_another_board_in_mid_stream_is_passed_over_until_the_former_is_back(decoder):
    """PROTOCOL.md, "One board for each port": a sample line names its sensor, not its board."""
    assert tell(decoder, sample(1))
    for message in (BOARD._replace(request=0, uid="77", sensors=1), SENSORS[0]._replace(request=0, sensor=9)):
        tell(decoder, message)
    assert [tell(decoder, sample(2)), tell(decoder, sample(3, sensor=9))] == [None, None]
    assert [info.sensor_id for info in decoder.sensors.values()] == ["e6614103e7-0", "e6614103e7-1"]
    assert (decoder.counts.resets, decoder.counts.unknown) == (1, 2)
    tell(decoder, BOARD._replace(request=0))
    assert tell(decoder, sample(0)).sensor_id == "e6614103e7-0"
    assert decoder.counts.resets == 2


@given(st.binary(max_size=300))
def test_any_bytes_are_counted_and_never_fail(raw):
    decoder = Decoder("COM7")
    decoder.decode(Line("COM7", 0, messages.pack(BOARD)))
    decoder.decode(Line("COM7", 0, raw))
    assert decoder.counts.lines == 1 + bool(raw.rstrip(b"\r"))


@given(st.binary(max_size=240))
def test_any_sealed_bytes_never_fail(body):
    decoder = Decoder("COM7")
    for message in (BOARD, SENSORS[0]):
        tell(decoder, message)
    decoder.decode(Line("COM7", 0, seal(body)))


@given(st.binary(min_size=1, max_size=2), st.integers(400, 5000))
def test_huge_numbers_are_no_samples(sensor, digits):
    assert sample_fields(seal(b"s 0 1 2 4 %s 5 6 7" % (b"9" * digits))) is None


def test_the_direct_way_takes_nothing_that_the_protocol_refuses_as_a_line():
    rng = random.Random(7)
    raw = messages.pack(sample(4711))
    for _ in range(20_000):
        damaged = bytearray(raw)
        for _ in range(rng.randrange(1, 4)):
            damaged[rng.randrange(len(raw) - 1)] = rng.randrange(256)
        if sample_fields(bytes(damaged)) is not None:
            assert messages.parse(unseal(bytes(damaged)))
        else:
            with pytest.raises((LineError, messages.MessageError)):
                messages.parse(unseal(bytes(damaged)))


@FEW
@given(st.binary(max_size=40) | st.integers(200, 800).map(lambda size: b"x" * size + b"\n"), st.data())
def test_bytes_are_cut_the_same_however_they_come(part, draw):
    data = part * 3 + b"\nend\n"
    splitter, cut, rest = Splitter(), [], data
    while rest:
        size = draw.draw(st.integers(1, len(rest)))
        cut += splitter.cut(rest[:size])
        rest = rest[size:]
    assert cut == Splitter().cut(data)
    assert b"".join(cut) == data.replace(b"\n", b"")


def test_endless_bytes_without_a_line_feed_do_not_pile_up():
    splitter = Splitter()
    cut = [line for _ in range(100) for line in splitter.cut(b"x" * 100)]
    assert sum(map(len, cut)) >= 100 * 100 - LINE_LIMIT
