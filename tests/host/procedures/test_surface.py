"""A check begins from what its command was told, live or in a recording that others may have edited."""

import pytest
from tests.host.procedures.scene import Scene

from hingeline.errors import UsageProblem
from hingeline.procedures.centring import Centring
from hingeline.procedures.droop import Droop
from hingeline.procedures.play import Play
from hingeline.procedures.sweep import Sweep
from hingeline.rig.quantities import Measure

SHEET = """
[surface.flap]
throws.normal = { down = "30 deg" }
"""
TOLD = {"surface": "flap", "left": None, "hold_s": None}
"""What every command is told, and no check asks for."""


@pytest.fixture
def begin(sheet_of):
    return lambda check, **choices: check.begin(sheet_of(SHEET), "flap", Scene("left").instruments, TOLD | choices)


def test_a_choice_belongs_to_the_field_of_its_name(begin):
    play = begin(Play, cycles=3, limit="0.5 mm")
    assert (play.surface, play.cycles, play.limit) == ("flap", 3, Measure(0.5, "mm"))
    sweep = begin(Sweep, sweeps=4, points="one-way")
    assert (sweep.sweeps, sweep.points) == (4, "one-way")
    centring = begin(Centring, times=2, limit="0.3 deg")
    assert (centring.times, centring.limit_deg) == (2, 0.3)
    assert begin(Droop, for_s=90.0, limit=None).limit_deg is None


@pytest.mark.parametrize(
    ("check", "limit", "text"),
    [
        (Centring, "1 mm", "--limit '1 mm': expected degrees. Write it as `0.5 deg`."),
        (Droop, "1 mm", "--limit '1 mm': expected degrees. Write it as `0.5 deg`."),
        (Play, "wide", "--limit 'wide': expected "),
    ],
)
def test_a_limit_that_is_none_is_refused(begin, check, limit, text):
    with pytest.raises(UsageProblem) as problem:
        begin(check, limit=limit)
    assert str(problem.value).startswith(text)
