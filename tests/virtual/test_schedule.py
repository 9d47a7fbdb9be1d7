"""The order of commands, and how a line of JSON becomes one."""

import math

import pytest

from hingeline.errors import ScenarioError
from hingeline_virtual.commands import COMMAND
from hingeline_virtual.schedule import LEAD_US, Schedule, parse_command, parse_line


def steps(*commands):
    return Schedule([COMMAND.validate_python(fields) for fields in commands])


WAIT = {"do": "wait", "for_s": 1.0}


def begun(schedule, now_us):
    task = schedule.take_due(now_us)
    assert task is not None
    return task


def test_a_command_begins_when_the_former_has_settled_not_a_microsecond_off():
    schedule = steps(WAIT, WAIT)
    first = begun(schedule, 0)
    assert first.began_us == LEAD_US
    assert schedule.take_due(10**9) is None
    first.settled_us = 3_000_000
    assert schedule.next_us == 3_000_000 - LEAD_US
    assert begun(schedule, 3_000_000 - LEAD_US).began_us == 3_000_000


def test_after_s_counts_from_the_beginning_of_the_former():
    schedule = steps(WAIT, {**WAIT, "after_s": 0.25}, {**WAIT, "after_s": 0.0})
    first = begun(schedule, 0)
    first.settled_us = math.inf
    assert schedule.take_due(first.began_us) is None
    second = begun(schedule, first.began_us + 250_000 - LEAD_US)
    assert second.began_us == first.began_us + 250_000
    assert begun(schedule, second.began_us - LEAD_US).began_us == second.began_us


def test_what_comes_late_begins_soon():
    schedule = steps()
    schedule.add("seven", COMMAND.validate_python({"do": "truth"}))
    task = begun(schedule, 5_000_000)
    assert (task.number, task.began_us) == ("seven", 5_000_000 + LEAD_US)


def test_settled_commands_are_told_once():
    schedule = steps(WAIT)
    task = begun(schedule, 0)
    task.settled_us = 100
    assert schedule.take_settled(99) == []
    assert schedule.take_settled(100) == [task]
    assert schedule.idle


def test_a_board_that_has_begun_settles_what_waits_for_it():
    schedule = steps({"do": "reset", "board": "a"}, {"do": "reset", "board": "b", "after_s": 0})
    waiting = [begun(schedule, 0), begun(schedule, 0)]
    schedule.release("b", 700)
    assert [task.settled_us for task in waiting] == [math.inf, 700]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("place", "not a JSON object"),
        ("[1, 2]", "not a JSON object"),
        ("7", "not a JSON object"),
        ('{"do": "dance"}', "place.*lean"),
        ('{"do": "place", "sensor": "s"}', "face"),
        ('{"do": "place", "sensor": "s", "face": "+w"}', "face"),
        ('{"do": "wait", "for_s": NaN}', "for_s"),
        ('{"do": "wait", "for_s": 1e300}', "for_s"),
        ('{"do": "wait", "for_s": 1, "colour": "red"}', "colour"),
        ('{"do": "lean", "sensor": "s", "up": [0, 0, 0]}', "points nowhere"),
        ('{"do": "place", "sensor": "\\u001b[31m", "face": "+z"}', "sensor"),
    ],
)
def test_a_line_that_is_no_command_is_told_why(line, message):
    with pytest.raises(ScenarioError, match=message) as caught:
        parse_command(parse_line(line))
    assert "\x1b" not in str(caught.value)
