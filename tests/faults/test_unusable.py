"""Streams of which nothing can be used: each ends by the host's clock, and says why."""

from time import perf_counter

import pytest

from hingeline.device.link.decoder import sample_fields
from hingeline.device.link.fleet import Fleet
from hingeline.device.samples import BoardGone
from hingeline.errors import BoardLost
from hingeline.measure.capture import Capture
from hingeline.procedures import sensing
from hingeline.procedures.procedure import Step
from hingeline.procedures.sensing import Sensing
from hingeline_protocol.line import seal
from hingeline_protocol.messages import SAMPLE_FORMAT

NAMED_S = 4.0
"""What is promised is a time, 2 s; here twice that, for a machine that does other things."""


def damaged(line: bytes) -> bytes:
    return bytes([line[0] ^ 1]) + line[1:]


def endless(line: bytes) -> bytes:
    return line[:-1]


def standing(line: bytes) -> bytes:
    if (fields := sample_fields(line.rstrip())) is None:
        return line
    index, sequence, _, *rest = fields
    return seal(SAMPLE_FORMAT % (index, sequence, 1000, *rest)).rstrip() + b"\n"


@pytest.mark.parametrize(
    ("spoil", "text"),
    [(damaged, "nothing but damaged lines"), (endless, "nothing but damaged lines"), (standing, "clock of .* stands")],
)
def test_a_stream_that_is_of_no_use_is_named_in_two_seconds(cable_to, spoil, text):
    cable = cable_to("alpha")
    with Fleet([cable.name]) as fleet:
        fleet.start()
        for _ in range(10):
            next(iter(fleet))
        cable.spoil, begun_s = spoil, perf_counter()
        *_, last = fleet
        took_s = perf_counter() - begun_s
    assert isinstance(last, BoardGone)
    with pytest.raises(BoardLost, match=text):
        raise last.error
    assert took_s < NAMED_S


def test_patience_runs_on_the_clock_of_the_host_where_no_sample_comes(monkeypatch):
    now_s = 100.0
    monkeypatch.setattr(sensing, "perf_counter", lambda: now_s)
    waits = Sensing(Step("hold still", (), patience_s=120.0), {}, 1.0)
    assert isinstance(waits.capture, Capture)
    waits.check_patience(now_s + 120.0)
    with pytest.raises(Exception, match="No new reading in 120 s"):
        waits.check_patience(now_s + 120.0 * sensing.HOST_SHARE + sensing.HOST_S + 0.1)
