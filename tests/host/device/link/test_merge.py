"""Events of several boards in the order of their times; nobody waits for who is silent."""

import itertools
import random

from hingeline.device.link.times import PATIENCE_NS, Arrived, InOrder
from hingeline.device.samples import BoardGone, Sample
from hingeline.errors import BoardLost


def arrived(port, time_s, arrival_s):
    event = Sample(f"{port}-0", time_s, (0.0, 0.0, 1.0), 4, None, 0)
    return Arrived(round(arrival_s * 1e9), port, [event])


def test_two_boards_come_out_in_order_of_time():
    rng = random.Random(3)
    told = [
        arrived(port, line * 0.02 + phase_s, line * 0.02 + phase_s + rng.uniform(0, 0.019) + delay_s)
        for port, phase_s, delay_s in (("a", 0.0, 0.0), ("b", 0.007, 0.03))
        for line in range(500)
    ]
    order = InOrder()
    found = [event for item in sorted(told) for event in order.push(item)] + order.rest()
    times_s = [event.time_s for event in found]
    assert len(found) == 1000
    late = [b for a, b in itertools.pairwise(times_s) if b < a]
    assert len(late) <= 2, "only before both boards have spoken"


def test_a_read_is_as_good_as_its_events_one_by_one():
    rng = random.Random(5)
    reads = []
    for number in range(200):
        times_s = sorted(rng.uniform(number * 0.05, number * 0.05 + 0.05) for _ in range(rng.randint(1, 9)))
        several = [event for time_s in times_s for event in arrived("ab"[number % 2], time_s, 0).events]
        reads.append(Arrived(round(1e9 * times_s[-1]), "ab"[number % 2], several))
    whole, apart = InOrder(), InOrder()
    at_once = [event for read in reads for event in whole.push(read)] + whole.rest()
    singly = [event for read in reads for one in read.events for event in apart.push(read._replace(events=[one]))]
    assert at_once == singly + apart.rest()


def test_one_board_is_never_held_back():
    order = InOrder()
    assert [len(order.push(arrived("a", line * 0.02, line * 0.02))) for line in range(10)] == [1] * 10


def test_a_silent_board_is_waited_for_once():
    order = InOrder()
    order.push(arrived("a", 0.0, 0.0))
    order.push(arrived("b", 0.0, 0.0))
    held = order.push(arrived("a", 0.02, 0.02))
    assert held == []
    late_s = 0.02 + PATIENCE_NS * 1e-9
    assert len(order.push(arrived("a", 0.2, late_s))) == 2
    assert len(order.push(arrived("a", 0.22, late_s + 0.02))) == 1


def test_a_board_that_is_gone_is_told_at_once_after_what_it_said():
    order = InOrder()
    order.push(arrived("a", 0.0, 0.0))
    order.push(arrived("b", 0.01, 0.01))
    gone = BoardGone(0.02, BoardLost("b was pulled out", "Plug it in"))
    assert [type(event) for event in order.push(Arrived(20_000_000, "b", [gone]))] == [Sample, BoardGone]
    assert [type(event) for event in order.push(arrived("a", 0.02, 0.021))] == [Sample]
