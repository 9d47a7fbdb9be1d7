"""The example in the package's docstring gives what it says."""

import doctest

import hingeline_protocol


def test_the_example_of_the_package_runs():
    result = doctest.testmod(hingeline_protocol)
    assert result.attempted
    assert not result.failed
