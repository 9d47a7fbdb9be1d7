"""Procedures make a procedure: one begins from the end of the one before, and taking back goes across the seam."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest
from tests.host.procedures.feed import Bench, Poses, recorded

from hingeline.device.samples import Sample
from hingeline.procedures.procedure import Procedure


@dataclass(frozen=True)
class Chain(Procedure):
    """A part, and what begins each later one from the end of the one before."""

    part: Procedure
    later: tuple[Callable[[Procedure], Procedure], ...]

    @property
    def step(self):
        return self.part.step

    def after(self, event):
        return self._go_on(self.part.after(event))

    def skipped(self):
        following = self.part.skipped()
        return following and self._go_on(following)

    def judge(self, readings):
        return self.part.judge(readings)

    def _go_on(self, following):
        chain = replace(self, part=following.procedure)
        while chain.step is None and chain.later:
            begin, *later = chain.later
            chain = Chain(begin(chain.part), tuple(later))
        return replace(following, procedure=chain)


@pytest.fixture
def chain():
    """Neutral and up, then down, which remembers both; down can be left out."""
    return Chain(
        Poses(("neutral", "up")), (lambda end: Poses(("neutral", "up", "down"), can_skip=True, angles=end.angles),)
    )


def test_the_next_part_begins_from_the_end_of_the_one_before(monkeypatch, chain):
    bench = Bench(monkeypatch)
    bench.hold(2).turn(10).hold(2).turn(10).hold(2)
    assert bench.runner.run(chain).part.angles == (0.0, 10.0, 20.0)
    assert bench.said == ["neutral: hold.", "up: hold.", "down: hold."]


def test_a_reading_of_the_part_before_can_be_taken_back(monkeypatch, chain):
    bench = Bench(monkeypatch)
    bench.hold(2).turn(10).hold(2).press("back").turn(-5).hold(2).press("next").hold(0.1)
    events = [event for event in bench.events if isinstance(event, Sample)]
    angles = bench.runner.run(chain).part.angles
    assert angles == (0.0, pytest.approx(5, abs=0.2), None)
    assert bench.said[2:] == ["down: hold.", "Taken back: up. Move away and come back.", "up: hold.", "down: hold."]
    again = Bench(monkeypatch, keys=recorded(bench.records)).do(*events)
    assert again.runner.run(chain).part.angles == angles
