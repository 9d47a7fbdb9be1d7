"""The examples in docstrings run, and give what they show."""

import doctest

from hingeline.device.link import fleet


def test_the_example_of_a_fleet():
    outcome = doctest.testmod(fleet)
    assert (outcome.attempted > 0, outcome.failed) == (True, 0)
